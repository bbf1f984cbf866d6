"""What is measured of pixels: against numpy, and on the real photos."""

import pytest

from evidence.photos.look import Look, agreement, look_at, sharpness
from evidence.photos.pictures import opened
from evidence.photos.seen import BLURRED_BELOW, THUMBNAIL_BELOW
from evidence.photos.worker import Worker


@pytest.fixture(scope="module")
def greys(shared_photos):
    """The real photos at 1,024 px, grey, those too small for parts aside."""
    found = {}
    for path in sorted((shared_photos / "open").iterdir()):
        with opened(path) as picture:
            grey = picture.convert("L")
        grey.thumbnail((1024, 1024))
        if min(grey.size) > 100:
            found[path.name] = grey
    assert len(found) > 25
    return found


def test_sharpness_is_the_variance_that_numpy_computes(greys):
    np = pytest.importorskip("numpy")
    for name, grey in greys.items():
        a = np.asarray(grey, dtype=float)
        steps = a[:-2, 1:-1] + a[2:, 1:-1] + a[1:-1, :-2] + a[1:-1, 2:] - 4 * a[1:-1, 1:-1]
        variance = np.clip(steps, -128, 127).var()
        assert sharpness(grey)[0] == pytest.approx(variance, rel=1e-3, abs=0.01), name


def test_a_heavily_blurred_picture_has_no_sharp_part(greys):
    from PIL import ImageFilter

    blurred = [max(sharpness(g.filter(ImageFilter.GaussianBlur(4)))) for g in greys.values()]
    share = sum(value < BLURRED_BELOW for value in blurred) / len(blurred)
    print(f"heavily blurred, found: {share:.0%} of {len(blurred)}")
    assert share >= 0.99  # PHOTOS: 99 % of heavy blur


def test_a_smooth_surface_in_focus_is_sharp_at_its_edges():
    from PIL import Image, ImageDraw

    roof = Image.new("L", (1024, 768), 200)
    ImageDraw.Draw(roof).line((0, 700, 1023, 690), fill=150, width=1)
    whole, sharpest = sharpness(roof)
    assert whole < BLURRED_BELOW < sharpest


def test_a_picture_of_a_few_pixels_has_no_sharpness():
    from PIL import Image

    assert sharpness(Image.new("L", (2, 2))) == (0.0, 0.0)


def test_the_small_pictures_in_real_photos_agree_with_them(shared_photos):
    found = {
        path.name: look.thumbnail
        for path in sorted((shared_photos / "open").iterdir())
        if (look := look_at(path)).thumbnail is not None
    }
    assert len(found) >= 10
    assert min(found.values()) >= THUMBNAIL_BELOW, found


def test_a_small_picture_of_something_else_does_not_agree(greys):
    names = list(greys)[::2]
    low = [agreement(greys[one], greys[other]) for one in names for other in names if one != other]
    share = sum(value is not None and value < THUMBNAIL_BELOW for value in low) / len(low)
    print(f"another picture inside, found: {share:.0%} of {len(low)} pairs")
    assert share >= 0.8


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_a_small_picture_may_lie_on_its_side_and_between_dark_bars(greys, turn):
    from PIL import Image

    for name, grey in list(greys.items())[5:12]:
        small = grey.rotate(turn, expand=True)
        small.thumbnail((160, 100))
        barred = Image.new("L", (160, 120), 0)
        barred.paste(small, ((160 - small.width) // 2, (120 - small.height) // 2))
        found = agreement(grey, barred)
        assert found is None or found >= THUMBNAIL_BELOW, name


def test_without_shapes_there_is_nothing_to_compare():
    from PIL import Image

    flat = Image.new("L", (160, 120), 90)
    assert agreement(flat, flat) is None


def test_light_and_darkness_are_measured(make):
    dark, bright = (look_at(make(f"{grey}.png", size=(64, 48))) for grey in ("a", "b"))
    assert (dark.luma, dark.dark, dark.bright) == (0, 1, 0)
    from PIL import Image

    path = make("white.png")
    Image.new("L", (64, 48), 255).save(path)
    white = look_at(path)
    assert (white.luma, white.dark, white.bright) == (255, 0, 1)
    assert bright == dark


@pytest.mark.parametrize(("value", "fired"), [(0x00, False), (0x19, True), (0x10, False)])
def test_whether_a_flash_fired_is_bit_0_of_its_tag(tmp_path, value, fired):
    """Exif 3.0 § 4.6.6.7, Flash."""
    from PIL import Image

    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9209] = value
    Image.new("RGB", (64, 48)).save(tmp_path / "a.jpg", exif=exif)
    assert look_at(tmp_path / "a.jpg").flash is fired


def test_where_the_tags_do_not_say_nothing_is_known_of_a_flash(make):
    assert look_at(make("a.jpg")).flash is None


@pytest.mark.parametrize("data", [b"", b"no picture", b"\xff\xd8\xff" + b"\0" * 400])
def test_what_cannot_be_shown_is_not_measured_and_says_why(tmp_path, data):
    (tmp_path / "a.jpg").write_bytes(data)
    look = look_at(tmp_path / "a.jpg")
    assert (look.luma, look.alike) == (None, ())
    assert look.why.startswith("cannot be shown: ")


def test_a_look_is_the_same_from_the_child_and_back_from_its_text(shared_photos):
    path = shared_photos / "open" / "exifr__IMG_5910.jpg"
    with Worker() as worker:
        look = worker.look(path)
    assert look.read_by == "exifread"
    assert look.model_copy(update={"read_by": look_at(path).read_by}) == look_at(path)
    assert Look.model_validate_json(look.model_dump_json(exclude_none=True)) == look
