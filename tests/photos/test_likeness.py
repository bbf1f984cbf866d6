"""The hash against the library ImageHash 4.3, and what it outlives."""

import random

import pytest

from evidence.photos.likeness import ALARM, SIDE, alike, apart, hashes
from evidence.photos.look import look_at
from evidence.photos.pictures import opened


@pytest.fixture(scope="module")
def pictures(shared_photos):
    """The real photos that have shapes to compare, each decoded once: as it is, and small."""
    found = {}
    for path in sorted((shared_photos / "open").iterdir()):
        look = look_at(path)
        if look.alike:
            with opened(path) as picture:
                whole = picture.convert("L")
            small = whole.copy()
            small.thumbnail((512, 512))
            found[path.name] = (look.alike, whole, small)
    assert len(found) > 28
    return found


def greys(picture):
    from PIL.Image import Resampling

    return picture.convert("L").resize((SIDE, SIDE), Resampling.LANCZOS).tobytes()


def bits(found) -> int:
    return int("".join("1" if bit else "0" for bit in found.hash.flatten()), 2)


def test_the_hash_is_that_of_imagehash_to_within_one_bit_on_average(pictures):
    imagehash = pytest.importorskip("imagehash")
    off = [
        (found[0] ^ bits(imagehash.phash(whole))).bit_count()
        for found, whole, _ in pictures.values()
    ]
    print(f"bits off, over {len(off)} photos: mean {sum(off) / len(off):.2f}, most {max(off)}")
    assert sum(off) / len(off) <= 1


def test_of_the_same_greys_the_hash_is_that_of_imagehash_to_the_bit(pictures):
    imagehash = pytest.importorskip("imagehash")
    for name, (_, _, small) in pictures.items():
        theirs = bits(imagehash.phash(small))
        assert (hashes(greys(small))[0] ^ theirs).bit_count() <= 1, name


@pytest.mark.parametrize("turn", range(7))
def test_a_turned_or_mirrored_picture_is_the_same_picture(pictures, turn):
    from PIL.Image import Transpose

    off = []
    for _, _, small in pictures.values():
        turned = small.transpose(list(Transpose)[turn])
        off.append(apart(hashes(greys(small)), hashes(greys(turned))))
    assert sum(off) / len(off) <= 1
    # one drawn picture is a plain gradient, whose waves are nearly all nought
    assert sum(value <= ALARM for value in off) >= len(off) - 1


def changed(picture, change):
    from io import BytesIO

    from PIL import Image, ImageEnhance

    width, height = picture.size
    made = {
        "recompressed": lambda: picture,
        "half the size": lambda: picture.resize((max(1, width // 2), max(1, height // 2))),
        "brighter": lambda: ImageEnhance.Brightness(picture).enhance(1.2),
        "2 % cropped": lambda: picture.crop(
            (width // 100, height // 100, width - width // 100, height - height // 100)
        ),
    }[change]()
    packed = BytesIO()
    made.save(packed, "JPEG", quality=50)
    with Image.open(packed) as again:
        return hashes(greys(again))


@pytest.mark.parametrize("change", ["recompressed", "half the size", "brighter", "2 % cropped"])
def test_it_outlives_what_copying_commonly_does(pictures, change):
    kept = [
        apart(hashes(greys(small)), changed(small, change)) <= ALARM
        for _, _, small in pictures.values()
    ]
    assert sum(kept) / len(kept) > 0.9


def test_different_photos_are_further_apart(pictures):
    """Two projects keep the same pictures in several versions; those are alike."""
    pairs = set(alike({name: found for name, (found, _, _) in pictures.items()}))
    print("alike:", sorted(pairs))
    same = ("c2pa-python__", "public-testfil__adobe", "Pillow__iptc")
    assert {name for pair in pairs for name in pair if not name.startswith(same)} == set()


def test_the_pairs_are_those_that_comparing_all_with_all_finds():
    chance = random.Random(7)
    found = {}
    for at in range(60):
        start = chance.getrandbits(64)
        found[f"{at}"] = tuple(chance.getrandbits(64) for _ in range(7))
        found[f"{at}"] = (start, *found[f"{at}"])
        near = start
        for bit in chance.sample(range(64), chance.randrange(1, 9)):
            near ^= 1 << bit
        found[f"{at} again"] = (near, *(chance.getrandbits(64) for _ in range(7)))
    names = list(found)
    slow = {
        (one, other)
        for at, other in enumerate(names)
        for one in names[:at]
        if min((found[one][0] ^ turned).bit_count() for turned in found[other]) <= ALARM
    }
    assert set(alike(found)) == slow
    assert 20 < len(slow) < 60
