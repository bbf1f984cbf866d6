"""A scene as a ReportLab flowable, for the PDFs. Imported only where a PDF is made."""

from reportlab.lib.colors import HexColor
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from evidence.figures.scene import (
    Circle,
    Close,
    CurveTo,
    Hatch,
    Item,
    Line,
    LineTo,
    MoveTo,
    Path,
    Polygon,
    Rect,
    Scene,
    Step,
    Stroke,
    Text,
)
from evidence.figures.style import register_fonts, runs
from evidence.tagging import Element, box_of, marked


class SceneFlowable(Flowable):  # type: ignore[misc]
    """Draws one scene at its own size.

    Attributes:
        scene: what is drawn.
        title: the figure's name.
        alt: what it shows, in words, for the tag that will hold it.
    """

    def __init__(self, scene: Scene) -> None:
        super().__init__()
        self.scene = scene
        self.title = scene.title
        self.alt = scene.alt
        self.width = scene.width
        self.height = scene.height
        self.hAlign = "LEFT"

    def wrap(self, _room_across: float, _room_down: float) -> tuple[float, float]:
        """The scene's own size in points; it is never squeezed."""
        return self.scene.width, self.scene.height

    def draw(self) -> None:
        """Draw the scene with its lower left corner at the canvas's origin."""
        register_fonts()
        figure = Element(
            "Figure", alt=self.alt or self.title, box=box_of(self.canv, self.width, self.height)
        )
        with marked(self.canv, figure):
            self.canv.saveState()
            self.canv.transform(1, 0, 0, -1, 0, self.scene.height)
            for item in self.scene.items:
                _draw(self.canv, item)
            self.canv.restoreState()


def _draw(canvas: Canvas, item: Item) -> None:
    match item:
        case Line():
            _set_stroke(canvas, item.stroke)
            canvas.line(item.x1, item.y1, item.x2, item.y2)
        case Rect(radius=0):
            canvas.rect(item.x, item.y, item.width, item.height, *_set_paint(canvas, item))
        case Rect():
            size = (item.x, item.y, item.width, item.height, item.radius)
            canvas.roundRect(*size, *_set_paint(canvas, item))
        case Circle():
            canvas.circle(item.x, item.y, item.radius, *_set_paint(canvas, item))
        case Polygon():
            steps = _outline(item.points)
            _trace(canvas, steps, *_set_paint(canvas, item))
        case Path():
            _trace(canvas, item.steps, *_set_paint(canvas, item))
        case Text():
            _write(canvas, item)
        case Hatch():
            _hatch(canvas, item)


def _write(canvas: Canvas, item: Text) -> None:
    pieces = [
        (piece, stringWidth(piece.text, piece.font, item.size))
        for piece in runs(item.text, item.role)
    ]
    whole = sum(width for _, width in pieces)
    x = {"start": 0.0, "middle": -whole / 2, "end": -whole}[item.anchor]
    canvas.saveState()
    canvas.setFillColor(HexColor(item.colour))
    canvas.transform(1, 0, 0, -1, item.x, item.y)  # letters stand upright again
    if item.rotation:
        canvas.rotate(-item.rotation)
    for piece, width in pieces:
        canvas.setFont(piece.font, item.size)
        canvas.drawString(x, 0, piece.text)
        x += width
    canvas.restoreState()


def _hatch(canvas: Canvas, item: Hatch) -> None:
    canvas.saveState()
    canvas.clipPath(_path(canvas, _outline(item.outline)), stroke=0, fill=0)
    _set_stroke(canvas, item.stroke)
    canvas.lines([(line.x1, line.y1, line.x2, line.y2) for line in item.lines()])
    canvas.restoreState()


def _trace(canvas: Canvas, steps: tuple[Step, ...], stroke: int, fill: int) -> None:
    canvas.drawPath(_path(canvas, steps), stroke=stroke, fill=fill)


def _path(canvas: Canvas, steps: tuple[Step, ...]) -> object:
    path = canvas.beginPath()
    for step in steps:
        match step:
            case MoveTo(x, y):
                path.moveTo(x, y)
            case LineTo(x, y):
                path.lineTo(x, y)
            case CurveTo(x1, y1, x2, y2, x, y):
                path.curveTo(x1, y1, x2, y2, x, y)
            case Close():
                path.close()
    return path


def _outline(points: tuple[tuple[float, float], ...]) -> tuple[Step, ...]:
    (x, y), *others = points
    return MoveTo(x, y), *(LineTo(*point) for point in others), Close()


def _set_paint(canvas: Canvas, item: Rect | Circle | Polygon | Path) -> tuple[int, int]:
    """Set the colours; ReportLab wants to be told with 1 and 0 which of them to use."""
    if item.fill is not None:
        canvas.setFillColor(HexColor(item.fill))
    if item.stroke is not None:
        _set_stroke(canvas, item.stroke)
    return int(item.stroke is not None), int(item.fill is not None)


def _set_stroke(canvas: Canvas, stroke: Stroke) -> None:
    ends = int(stroke.round_ends)  # PDF 32000-1, 8.4.3.3 and 8.4.3.4: 0 butt and mitre, 1 round
    canvas.setStrokeColor(HexColor(stroke.colour))
    canvas.setLineWidth(stroke.width)
    canvas.setDash(list(stroke.dash))
    canvas.setLineCap(ends)
    canvas.setLineJoin(ends)
