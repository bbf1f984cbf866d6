from evidence.steps import steps


def test_there_are_ten_steps_numbered_from_1_to_10():
    assert [step.n for step in steps()] == list(range(1, 11))


def test_every_step_says_what_it_does_and_what_it_cannot_show():
    for step in steps():
        for text in (step.does, step.cannot):
            assert text.endswith("."), step.name
        assert step.name
        assert step.title


def test_no_two_steps_share_a_name_or_a_title():
    assert len({step.name for step in steps()}) == 10
    assert len({step.title for step in steps()}) == 10
