"""The clean branch strike of TRADE § 10, case 1, on which others build."""

from tests.scenarios.build import Told, finding, look, photo, tell

FIELD = {"field-mr": 0}


def branch_strike(*, witnessed: bool = False) -> list[Told]:
    """Entries 6-10 behind the starter: look, incident, cover, look after, notice."""
    before = look(
        "2025-05-30",
        FIELD,
        logged="2025-05-30T18:22:07Z",
        files=[photo("2025:05:30 12:10:31", offset="-05:00", zone="field-mr", role="close")],
        witness=witnessed,
    )
    incident = {
        "id": "i1",
        "stated_cause": "branch",
        "when": "2025-06-08T16:40-05:00",
        "known": "seen",
        "zones": ["field-mr"],
    }
    cover = {
        "when": "2025-06-08T17:30-05:00",
        "zones": ["field-mr"],
        "what": "sheet and tape",
        "incidents": ["i1"],
    }
    torn = finding("f3", "field-mr", 4, type="D12", length_mm=210, seen=["tear-edge"])
    after = look(
        "2025-06-08T17:40-05:00",
        {"field-mr": 4},
        logged="2025-06-08T22:55:00Z",
        body={"occasion": "after-event", "findings": [torn], "incidents": ["i1"]},
    )
    notice = {
        "when": "2025-06-09",
        "direction": "sent",
        "party": "insurer",
        "type": "loss",
        "incidents": ["i1"],
    }
    return [
        before,
        tell("incident", incident, "2025-06-08T22:00:00Z"),
        tell("cover", cover, "2025-06-08T22:40:00Z"),
        after,
        tell("notice", notice, "2025-06-09T15:00:00Z"),
    ]
