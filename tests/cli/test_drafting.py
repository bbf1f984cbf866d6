"""`enter`: labels by name or sum, pictures that the record holds already, hints at once."""

import pytest

from tests.cli.conftest import last, state
from tests.making import picture


@pytest.fixture
def sealed(own, run, tmp_path):
    folder = tmp_path / "DCIM"
    picture(folder / "LF_0001.jpg", "2025:05:30 12:10:05", "-05:00", 210)
    picture(folder / "LF_0002.jpg", "2025:05:30 12:20:05", "-05:00", 120)
    document = run("intake", own, folder, "--json").json
    return document["sealed"]


def test_a_label_names_its_files_by_name_or_by_the_start_of_their_sums(own, run, sealed):
    ran = run("enter", own, "label", f"of=LF_0001.jpg,{sealed[1][:8]}", "zone=vent-1", "role=close")
    assert ran.code == 0, ran.err
    assert last(own)["body"] == {"of": sealed, "role": "close", "zone": "vent-1"}
    zone = run("zone", own, "vent-1", "--json").json
    assert [(row["name"], row["role"]) for row in zone["pictures"]] == [
        ("LF_0001.jpg", "close"), ("LF_0002.jpg", "close"),
    ]  # fmt: skip


def test_a_label_from_a_file_may_name_them_too(own, run, sealed, tmp_path):
    (tmp_path / "label.json").write_text('{"of": ["LF_0001.jpg"], "zone": "vent-1"}')
    assert run("enter", own, "label", "--from", tmp_path / "label.json").code == 0
    assert last(own)["body"]["of"] == sealed[:1]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("of=LF_0003.jpg", "zone=vent-1"), "Did you mean 'LF_000"),
        (("of=LF_0001.jpg", "zone=vent-9"), "Known: field-ml"),
        (("of=LF_0001.jpg", "role=near"), "'close'"),
        (("of=LF_0001.jpg", "finding=f9"), "field 'finding': 'f9' is not known"),
        (("of=LF_0001.jpg", "original_of=LF_0001.jpg"), "not the original of itself"),
        (("zone=vent-1",), "field 'of'"),
    ],
)
def test_a_label_that_cannot_be_taken_says_what_may_be_meant(own, run, sealed, words, said):
    before = state(own)
    ran = run("enter", own, "label", *words)
    assert (ran.code, said in ran.err) == (2, True), ran.err
    assert len(ran.err.splitlines()) <= 3
    assert state(own) == before


def test_a_sealed_picture_stands_in_a_look_under_the_name_it_came_with(own, run, sealed):
    ran = run("enter", own, "inspection", "when=2025-05-30", "means=on-roof", "occasion=routine",
              "zones=vent-1:1", "--held", "LF_0001.jpg,zone=vent-1")  # fmt: skip
    assert ran.code == 0, ran.err
    (file,) = last(own)["files"]
    assert (file["sha256"], file["name"], file["zone"]) == (sealed[0], "LF_0001.jpg", "vent-1")
    counts = run("photos", own).said.partition("Counts")[2]
    assert counts.startswith(" 2 pictures in 2 entries.")


@pytest.mark.parametrize("item", ['{"sha256": "zz"}', '{"path": "a", "sha256": "ab"}', "{}"])
def test_a_listed_file_is_new_by_its_path_or_held_by_its_sum(own, run, sealed, tmp_path, item):
    (tmp_path / "told.json").write_text(f'{{"body": {{}}, "files": [{item}]}}')
    assert run("enter", own, "photos", "--from", tmp_path / "told.json").code == 2


def test_hints_come_at_once_on_standard_error(own, run, tmp_path):
    path = picture(tmp_path / "a.jpg", None, None, 4)
    ran = run("enter", own, "inspection", "when=2025-05-30", "means=on-roof", "occasion=routine",
              "zones=vent-1:1", "--photo", f"{path},role=card")  # fmt: skip
    said = " ".join(ran.err.split())
    assert "Look at these again while you are still on the roof:" in said
    assert "a.jpg: It is so dark that little can be seen." in said
    assert "Set the camera's clock" in said
    assert "No card could be read in it" in said
    assert "dark" not in ran.out


def test_a_program_finds_the_hints_in_its_document(own, run, tmp_path):
    path = picture(tmp_path / "a.jpg", None, None, 4)
    ran = run("enter", own, "photos", "--photo", path, "--json")
    assert ([row["signal"] for row in ran.json["hints"]], ran.err) == (["dark", "no-clock"], "")


def test_where_there_is_nothing_to_take_again_nothing_is_said(own, run, photo):
    assert run("enter", own, "photos", "--photo", photo).err == ""


def test_a_date_in_xmp_alone_is_told_and_not_relied_on(own, run, tmp_path):
    from tests.photos.test_xmp import saved

    path = saved(tmp_path / "a.jpg", b'xmp:CreateDate="2025-05-30T12:10:05"')
    run("intake", own, path)
    (row,) = run("photos", own, "--json").json
    assert (row["xmp_date"], row["capture"]["rule"], row["read_by"]) == (
        "2025-05-30T12:10:05", "none", "none",
    )  # fmt: skip
    assert "Only its XMP packet holds a date, 2025-05-30T12:10:05" in run("photos", own).said
