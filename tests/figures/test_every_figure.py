"""What holds for every figure, whatever it shows."""

import pytest

from evidence.figures.style import LEAST_CONTRAST, contrast

from .samples import all_figures, beyond_the_edge, ground_of, overlaps, words_of

NAMES = list(all_figures())


@pytest.mark.parametrize("name", NAMES)
def test_no_two_words_meet(figures, name):
    assert overlaps(figures[name]) == []


@pytest.mark.parametrize("name", NAMES)
def test_no_word_leaves_the_drawing(figures, name):
    assert beyond_the_edge(figures[name]) == []


@pytest.mark.parametrize("name", NAMES)
def test_every_word_can_be_read_on_what_lies_behind_it(figures, name):
    scene = figures[name]
    faint = [
        text.text
        for text in words_of(scene)
        if contrast(text.colour, ground_of(scene, text)) < LEAST_CONTRAST
    ]
    assert faint == []
    assert words_of(scene)


def test_the_same_input_gives_the_same_scene(figures):
    assert all_figures() == figures


@pytest.mark.parametrize("name", NAMES)
def test_a_figure_says_in_words_what_it_shows(figures, name):
    scene = figures[name]
    assert scene.title
    assert len(scene.alt) > len(scene.title)
    lower = scene.alt.lower()
    assert not any(word in lower for word in ("neglect", "fail", "score", "verified"))
