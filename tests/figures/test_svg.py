from xml.etree import ElementTree as ET

import pytest

from evidence.figures.scene import Hatch, Scene, Text
from evidence.figures.svg import to_svg

from .samples import all_figures, words_of

SVG = "{http://www.w3.org/2000/svg}"
NAMES = list(all_figures())


@pytest.mark.parametrize("name", NAMES)
def test_a_figure_is_well_formed_and_carries_its_words(figures, name):
    scene = figures[name]
    root = ET.fromstring(to_svg(scene))
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert root.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    assert (title.text, desc.text) == (scene.title, scene.alt)
    drawn = [text.text for text in root.iter(f"{SVG}text")]
    assert drawn == [text.text for text in words_of(scene)]


@pytest.mark.parametrize("name", NAMES)
def test_every_hatch_is_drawn_under_its_own_clip(figures, name):
    scene = figures[name]
    root = ET.fromstring(to_svg(scene))
    clips = [clip.get("id") for clip in root.iter(f"{SVG}clipPath")]
    used = [
        path.get("clip-path")[5:-1] for path in root.iter(f"{SVG}path") if path.get("clip-path")
    ]
    assert used == clips
    assert len(set(clips)) == len(clips)
    assert len(clips) == sum(isinstance(item, Hatch) for item in scene.items)


def test_the_same_scene_gives_the_same_bytes(figures):
    assert {name: to_svg(scene) for name, scene in figures.items()} == {
        name: to_svg(scene) for name, scene in all_figures().items()
    }


def test_ids_of_two_figures_on_one_page_differ(figures):
    ids = [
        element.get("id")
        for scene in figures.values()
        for element in ET.fromstring(to_svg(scene)).iter()
        if element.get("id")
    ]
    assert len(ids) == len(set(ids))


def test_a_name_cannot_break_out_of_the_drawing():
    name = '</text><script>alert(1)</script> "&\x00\ud800'
    scene = Scene(100, 20, (Text(0, 10, name),), name, name)
    root = ET.fromstring(to_svg(scene))
    assert root.find(f"{SVG}text").text == '</text><script>alert(1)</script> "&??'
    assert not list(root.iter(f"{SVG}script"))


def test_a_name_in_any_script_stays_text():
    scene = Scene(100, 20, (Text(0, 10, "天窗 Ωκεανός Окно"),), "t", "a")
    assert ET.fromstring(to_svg(scene)).find(f"{SVG}text").text == "天窗 Ωκεανός Окно"


def test_numbers_have_no_exponent_and_no_negative_zero():
    svg = to_svg(Scene(100, 20, (Text(1e-9, -1e-9, "x"),), "t", "a"))
    assert 'x="0" y="0"' in svg
