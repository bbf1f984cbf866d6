"""Reading the catalogue: its hash, the keeper's own rows, and what is refused."""

import hashlib
import re
import shutil

import pytest

from evidence import words as w
from evidence.errors import EvidenceError
from evidence.resources import templates
from evidence.trade import PointsTo, load_catalogue

SHIPPED = templates() / "catalogue"


@pytest.fixture
def folder(tmp_path):
    """A copy to be broken."""
    return shutil.copytree(SHIPPED, tmp_path / "catalogue")


@pytest.fixture
def own(tmp_path):
    """Writes the keeper's own file and loads the catalogue with it."""

    def load(text):
        path = tmp_path / "mine.toml"
        path.write_text(text, encoding="utf-8")
        return load_catalogue(override=path)

    return load


def edit(folder, name, old, new):
    path = folder / name
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


# --- the hash --------------------------------------------------------------------------------


def by_hand(files):
    """What `LC_ALL=C sha256sum *.toml | sha256sum` prints for (name, bytes)."""
    lines = [f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in sorted(files)]
    return hashlib.sha256("".join(lines).encode()).hexdigest()


def test_a_stranger_can_recompute_the_hash():
    files = [(path.name, path.read_bytes()) for path in SHIPPED.glob("*.toml")]
    assert len(files) == 17
    assert load_catalogue().sha256 == by_hand(files)


def test_the_hash_does_not_depend_on_where_the_folder_lies(folder):
    (folder / ".hidden.toml").write_bytes(b"left behind by a file browser")
    assert load_catalogue(folder).sha256 == load_catalogue().sha256


def test_the_files_have_the_line_ends_that_the_hash_was_made_over():
    assert all(b"\r" not in path.read_bytes() for path in SHIPPED.glob("*.toml"))


def test_one_changed_byte_changes_the_hash(folder):
    with (folder / "zones.toml").open("ab") as file:
        file.write(b"\n")
    assert load_catalogue(folder).sha256 != load_catalogue().sha256


def test_the_keepers_own_file_is_part_of_the_hash(own, tmp_path):
    catalogue = own('[sources.booklet]\ntitle = "the maker\'s booklet"\nseen = "own copy"\n')
    files = [(path.name, path.read_bytes()) for path in SHIPPED.glob("*.toml")]
    files.append(("override.toml", (tmp_path / "mine.toml").read_bytes()))
    assert catalogue.sha256 == by_hand(files)


# --- the keeper's own rows -------------------------------------------------------------------


def test_own_fields_take_the_place_of_ours_and_the_row_says_who_bears_which(own):
    catalogue = own('[findings.D02]\nact_within_days = 14\nbasis = "policy of 2024, page 3"\n')
    row = catalogue.findings["D02"]
    assert catalogue.act_within("D02", 3) == 14
    assert row.remedy == "open, clean, dry, reseal"
    assert row.rests_on == (
        "policy of 2024, page 3 for act_within_days; otherwise common practice, no source"
    )
    assert catalogue.overrides == ("findings.D02",)


def test_own_rows_may_be_added_where_the_record_can_name_them(own):
    catalogue = own(
        '[sources.booklet]\ntitle = "the maker\'s booklet"\nseen = "own copy"\n'
        "[observations.lid-yellow]\nabout = 'lid'\nsentence = 'The lid is yellow.'\n"
        "points_to = 'neither'\npitfall = 'Some lids are made so.'\nsource = ['booklet']\n"
    )
    assert catalogue.observations["lid-yellow"].points_to is PointsTo.NEITHER
    assert catalogue.overrides == ("sources.booklet", "observations.lid-yellow")


def test_each_field_of_an_own_row_stands_beside_the_shipped_one(own):
    catalogue = own(
        '[limits.rain]\nfigure = "48"\nbasis = "label"\n'
        '[packages.half]\nlabel = "half a tube"\nholds = "5oz"\nbasis = "shop"\n'
    )
    changes = [(each.row, each.field, each.built_in, each.own) for each in catalogue.changes]
    assert changes == [
        ("limits.rain", "figure", '"24"', '"48"'),
        ("limits.rain", "basis", '"common practice, no source"', '"label"'),
        ("packages.half", "label", None, '"half a tube"'),
        ("packages.half", "holds", None, '"5oz"'),
        ("packages.half", "basis", None, '"shop"'),
    ]
    assert catalogue.overrides == ("limits.rain", "packages.half")
    assert load_catalogue().changes == ()


def test_one_cell_of_the_fit_table_is_laid_over_and_the_others_stay_with_what_bears_them(own):
    text = "[sealants.silicone.surfaces]\nepdm = {letter = 'Y', basis = 'label of my tube'}\n"
    catalogue, shipped = own(text), load_catalogue()
    mine, ours = catalogue.families["silicone"], shipped.families["silicone"]
    cell = mine.surfaces["epdm"]
    assert (cell.letter, cell.source, cell.rests_on) == ("Y", (), "label of my tube")
    assert dict(mine.surfaces) | {"epdm": ours.surfaces["epdm"]} == dict(ours.surfaces)
    assert mine.rests_on == ours.rests_on
    assert [(each.row, each.field, each.words) for each in catalogue.changes] == [
        ("sealants.silicone", "surfaces.epdm.letter", ("N", "Y")),
        ("sealants.silicone", "surfaces.epdm.basis", (None, "label of my tube")),
    ]


def test_a_cell_keeps_over_what_it_may_never_be_laid(own):
    text = "[sealants.faced-tape.surfaces]\ncoated = {letter = 'Y', basis = 'label'}\n"
    cell = own(text).families["faced-tape"].surfaces["coated"]
    assert (cell.letter, cell.note, cell.never_over) == ("Y", None, ("silicone",))


def test_a_field_that_is_given_as_it_was_shipped_is_no_change(own):
    catalogue = own('[limits.rain]\nfigure = "24"\nunit = "h"\nbasis = "label"\n')
    assert [each.field for each in catalogue.changes] == ["basis"]


def test_the_bytes_of_an_own_file_are_as_good_as_the_file(own, tmp_path):
    text = "[moisture.normal]\nup_to_pct10 = 160\nbasis = 'meter'\n"
    from_file, from_bytes = own(text), load_catalogue(override=text.encode())
    assert from_bytes.sha256 == from_file.sha256
    assert from_bytes.band(160) == "normal"
    assert from_bytes.own_file == text


def test_the_shipped_catalogue_is_read_once_and_untouched_by_own_rows(own):
    before = load_catalogue()
    own('[rules.treatment]\nstandard = false\nbasis = "the maker does not ask for it"\n')
    assert load_catalogue() is before
    assert before.tasks[w.Task.TREATMENT].standard
    assert before.overrides == ()


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("[findings.D02]\nact_within_days = 14\n", "row findings.D02: says neither"),
        ("[findings.D02]\nbasis = 'policy'\n", "row findings.D02: changes no field"),
        ("[findings.D31]\nwords = 'x'\nbasis = 'own'\n", "rows of findings cannot be added"),
        ("[zones.Z11]\non_roof = false\nbasis = 'own'\n", "rows of zones cannot be changed"),
        ("[grades.0]\nword = 'fine'\nbasis = 'own'\n", "rows of grades cannot be changed"),
        ("[sources.S1]\ntitle = 'x'\nseen = 'x'\n", "rows of sources cannot be changed"),
        ("[weather.x]\ny = 1\n", r"\[weather\] is not a table"),
        ("findings = 3\n", "findings holds no rows"),
        ("[findings]\nD02 = 3\n", "row findings.D02: holds no fields"),
        (
            "[findings.D02]\nact_within_days = '14'\nbasis = 'own'\n",
            "row findings.D02, field act_within_days",
        ),
        (
            "[findings.D02]\nact_within_days = 14.0\nbasis = 'own'\n",
            "row findings.D02, field act_within_days",
        ),
        (
            "[findings.D02]\nact_within_days = true\nbasis = 'own'\n",
            "row findings.D02, field act_within_days",
        ),
        (
            "[findings.D02]\nact_within_days = -1\nbasis = 'own'\n",
            "row findings.D02, field act_within_days",
        ),
        ("[findings.D02]\nremedy = 2024-01-01\nbasis = 'own'\n", "row findings.D02, field remedy"),
        ("[findings.D02]\ncolour = 'red'\nbasis = 'own'\n", "row findings.D02, field colour"),
        ("[findings.D02]\ngrade = 5\nbasis = 'own'\n", "row findings.D02, field grade"),
        (
            "[findings.D02]\ngrade = 2\nsource = ['S30']\n",
            "row findings.D02, field source: S30 is not among",
        ),
        ("[findings.D02]\ngrade = 2\nsource = 'S1'\n", "row findings.D02, field source"),
        ("[findings.D09]\ngrade = 4\nbasis = 'own'\n", "row findings.D09: grade_if must be graver"),
        ("[sealants.silicone.surfaces]\ntpo = {letter = 'Y'}\n", "says neither"),
        (
            "[sealants.unknown]\nbasis = 'own'\nsurfaces = {tpo = {letter = 'Y'}}\n",
            "row sealants.unknown: surfaces needs a letter for every",
        ),
        (
            "[sealants.silicone]\nbasis = 'own'\nhorizontal = {letter = 'X'}\n",
            "row sealants.silicone, field horizontal.letter",
        ),
        ("[cautions.Bees]\ntext = 'x'\nwhen = 'x'\nbasis = 'own'\n", "row cautions.Bees: String"),
        ("[findings.D02\n", "is not TOML"),
        ("[limits.margin-c]\nfigure = '3,5'\nbasis = 'own'\n", "row limits.margin-c, field figure"),
        ("[limits.more]\nfigure = '3'\nbasis = 'own'\n", "rows of limits cannot be added"),
        (
            "[corrections.kiln]\nlabel = 'x'\nbasis = 'own'\n",
            "rows of corrections cannot be changed",
        ),
        (
            "[profiles.band]\nwidth = '1'\nbasis = 'own'\n",
            "row profiles.band, field width: has no unit",
        ),
        ("[packages.x]\nlabel = 'x'\nholds = '3in'\nbasis = 'x'\n", "field holds: is no volume"),
        (
            "[moisture.re-test]\nup_to_pct10 = 150\nbasis = 'own'\n",
            "row moisture.re-test, field up_to_pct10: must be above",
        ),
        (
            "[moisture.possibly-structural]\nup_to_pct10 = 900\nbasis = 'own'\n",
            "row moisture.possibly-structural, field up_to_pct10: the last band",
        ),
    ],
)
def test_a_broken_own_file_is_refused_by_name(own, text, named):
    with pytest.raises(EvidenceError, match=rf"^mine\.toml.*{named}"):
        own(text)


def test_own_bytes_that_are_not_text_are_refused(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(EvidenceError, match="is not TOML in UTF-8"):
        load_catalogue(override=path)


def test_an_own_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(EvidenceError, match=r"nowhere\.toml: cannot be read"):
        load_catalogue(override=tmp_path / "nowhere.toml")


# --- a broken folder -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "old", "new", "named"),
    [
        ("zones.toml", "[Z07]", "[Z28]", "zones.toml, row Z28"),
        ("zones.toml", "on_roof = true", "on_roof = false", "zones.toml, row Z01, field on_roof"),
        ("zones.toml", '"flat"', '"steep"', "zones.toml, row Z01, field usual_slopes"),
        ("findings.toml", "grade = 1\n", "", "findings.toml, row D01, field grade"),
        ("rules.toml", "[wash]", "[polish]", "rules.toml, row polish"),
        ("grades.toml", "[4]", "[5]", "grades.toml, row 5"),
        ("observations.toml", '"sudden"', '"storm"', "row tear-edge-sharp, field points_to"),
        ("cautions.toml", "[footer]", "[foot]", "cautions.toml, row footer: is missing"),
        ("sources.toml", "[S14]", "[S11]", "surfaces.toml, row epdm, field source: S14"),
        ("sealants.toml", 'basis = "common', 'reason = "common', "row self-levelling"),
    ],
)
def test_a_broken_shipped_file_is_refused_by_file_row_and_field(folder, name, old, new, named):
    edit(folder, name, old, new)
    with pytest.raises(EvidenceError, match=re.escape(named)):
        load_catalogue(folder)


def test_a_missing_file_and_an_unknown_one_are_named(folder):
    (folder / "more.toml").write_bytes(b"")
    with pytest.raises(EvidenceError, match=r"more\.toml: is not a file of the catalogue"):
        load_catalogue(folder)
    (folder / "more.toml").unlink()
    (folder / "rules.toml").unlink()
    with pytest.raises(EvidenceError, match=r"rules\.toml: is missing"):
        load_catalogue(folder)
