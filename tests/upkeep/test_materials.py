from evidence.upkeep import History
from evidence.upkeep.materials import count_receipts, materials
from tests.scenarios.build import Told, history, starter, tell


def wash(when: str, **more: str) -> Told:
    return tell("wash", {"when": when, "zones": "all", **more}, f"{when}T23:00:00Z")


def reseal(when: str, **more: str) -> Told:
    body = {"when": when, "zones": ["skylight"], "extent": "spot", "family": "non-sag", **more}
    return tell("reseal", body, f"{when}T23:00:00Z")


def told(*entries: Told) -> History:
    return history([*starter(), *entries], "2025-11-03")


def test_what_was_used_stands_in_order_of_time_by_its_name_or_its_family():
    late = wash("2025-06-01", product="soap") | {"logged": "2025-06-01T23:00:00Z"}
    rows = materials(told(reseal("2025-05-01"), reseal("2025-05-02", product="Lap 5"), late))

    assert [row.used for row in rows] == ["non sag", "Lap 5", "soap"]


def test_a_wash_that_names_nothing_used_up_nothing():
    assert materials(told(wash("2025-06-01"))) == ()


def test_a_receipt_on_file_is_counted_by_the_entry_that_it_is_about():
    used = wash("2025-06-01", product="soap")
    plain = history([*starter(), used], "2025-11-03")
    paper = {"type": "receipt", "title": "Soap", "about": [plain.items[-1].seq]}
    rows = materials(told(used, tell("paper", paper, "2025-06-02T20:00:00Z")))

    assert [row.receipt for row in rows] == [True]
    assert count_receipts(rows) == 1
    assert count_receipts(materials(plain)) == 0
