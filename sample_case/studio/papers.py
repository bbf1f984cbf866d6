"""Printed papers, drawn with the fount that Pillow carries: a till receipt, an invoice, a page."""

from collections.abc import Sequence
from textwrap import wrap

import numpy as np
from PIL import Image, ImageDraw, ImageFont

INK = (38, 38, 42)
Line = tuple[str, str]
"""What stands to the left and to the right of one line; a lone "-" draws a rule."""


def receipt(
    shop: Sequence[str], lines: Sequence[Line], foot: Sequence[str], seed: int
) -> Image.Image:
    """A narrow till receipt, the print a little uneven as thermal print is."""
    height = 250 + 62 * (len(shop) + len(lines) + len(foot))
    picture = Image.new("RGB", (900, height), (247, 246, 241))
    draw = ImageDraw.Draw(picture)
    y = 90
    for k, text in enumerate(shop):
        draw.text(
            (450, y), text, font=ImageFont.load_default(52 if k == 0 else 38), fill=INK, anchor="mm"
        )
        y += 66 if k == 0 else 54
    y += 22
    for left, right in lines:
        if left == "-":
            draw.line((60, y, 840, y), fill=(90, 90, 94), width=3)
        else:
            _typed(draw, 60, y, left)
            _typed(draw, 840 - 22 * len(right), y, right)
        y += 62
    y += 16
    for text in foot:
        draw.text((450, y), text, font=ImageFont.load_default(34), fill=INK, anchor="mm")
        y += 50
    return _uneven(picture, seed, 0.16)


def invoice(
    shop: Sequence[str],
    about: Sequence[Line],
    lines: Sequence[Line],
    foot: Sequence[str],
    seed: int,
) -> Image.Image:
    """A letter-size invoice."""
    picture = Image.new("RGB", (1275, 1650), (249, 249, 246))
    draw = ImageDraw.Draw(picture)
    draw.rectangle((90, 92, 102, 230), fill=(46, 74, 70))
    for k, text in enumerate(shop):
        draw.text(
            (130, 112 + 44 * k),
            text,
            font=ImageFont.load_default(46 if k == 0 else 27),
            fill=INK,
            anchor="lm",
        )
    draw.text(
        (1185, 112), "INVOICE", font=ImageFont.load_default(44), fill=(46, 74, 70), anchor="rm"
    )
    y = 300
    for left, right in about:
        draw.text((90, y), left, font=ImageFont.load_default(27), fill=(96, 98, 98), anchor="lm")
        draw.text((330, y), right, font=ImageFont.load_default(27), fill=INK, anchor="lm")
        y += 42
    y += 40
    for left, right in lines:
        if left == "-":
            draw.line((90, y, 1185, y), fill=(150, 152, 150), width=2)
            y += 30
            continue
        parts = wrap(left, 68)
        for text in parts:
            draw.text((90, y), text, font=ImageFont.load_default(29), fill=INK, anchor="lm")
            y += 42
        draw.text((1185, y - 42), right, font=ImageFont.load_default(29), fill=INK, anchor="rm")
        y += 14
    y += 50
    for text in foot:
        draw.text((90, y), text, font=ImageFont.load_default(26), fill=(70, 72, 72), anchor="lm")
        y += 40
    return _uneven(picture, seed, 0.05)


def page(head: str, title: str, paragraphs: Sequence[Line], number: str, seed: int) -> Image.Image:
    """A page of a small booklet: numbered paragraphs, the page number at the foot."""
    picture = Image.new("RGB", (1050, 1480), (246, 243, 233))
    draw = ImageDraw.Draw(picture)
    draw.text((110, 92), head, font=ImageFont.load_default(26), fill=(110, 106, 98), anchor="lm")
    draw.line((110, 122, 940, 122), fill=(150, 146, 136), width=2)
    draw.text((110, 196), title, font=ImageFont.load_default(54), fill=INK, anchor="lm")
    y = 290
    for mark, text in paragraphs:
        draw.text((110, y), mark, font=ImageFont.load_default(30), fill=INK, anchor="lm")
        for part in wrap(text, 50):
            draw.text((200, y), part, font=ImageFont.load_default(30), fill=INK, anchor="lm")
            y += 44
        y += 30
    draw.text((525, 1410), number, font=ImageFont.load_default(28), fill=(90, 86, 80), anchor="mm")
    return _uneven(picture, seed, 0.05)


def scanned(paper: Image.Image, seed: int, *, turn: float, size: tuple[int, int]) -> Image.Image:
    """As a flat-bed scanner sees it: slightly turned, a grey border, a little soft."""
    room = Image.new("RGB", (paper.width + 120, paper.height + 120), (206, 207, 206))
    room.paste(paper, (60, 60))
    flat = room.rotate(turn, Image.Resampling.BICUBIC, fillcolor=(206, 207, 206))
    flat.thumbnail(size, Image.Resampling.LANCZOS)
    rng = np.random.default_rng(seed)
    value = np.asarray(flat, np.float32) + rng.normal(0, 1.6, (flat.height, flat.width, 1))
    return Image.fromarray(np.clip(value, 0, 255).astype(np.uint8))


def _typed(draw: ImageDraw.ImageDraw, x: int, y: int, text: str) -> None:
    """Each sign in a cell of the same width, as a till prints."""
    for k, sign in enumerate(text):
        draw.text(
            (x + 22 * k + 11, y), sign, font=ImageFont.load_default(36), fill=INK, anchor="mm"
        )


def _uneven(picture: Image.Image, seed: int, amount: float) -> Image.Image:
    """Let the print fade in bands; white stays white."""
    rng = np.random.default_rng(seed)
    bands = np.repeat(rng.random(picture.height // 9 + 1), 9)[: picture.height, None, None]
    grit = rng.random((picture.height, picture.width, 1))
    value = np.asarray(picture, np.float32)
    fade = amount * (0.5 * bands + 0.8 * grit)
    return Image.fromarray((value + (246 - value) * fade).clip(0, 255).astype(np.uint8))
