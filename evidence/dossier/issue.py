"""The one door through which a dossier leaves: measure, lay out, attach, sign, write down.

The `issued` entry is written once the whole file is made and on the disk under a passing name; the
file takes its own name last.
"""

import hashlib
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from importlib import metadata
from pathlib import Path

from pydantic import JsonValue

from evidence.case import Clock, Draft, Record, now
from evidence.dossier import binding, layout, say
from evidence.dossier.archive import PRODUCER, finish
from evidence.dossier.contents import Contents, contents
from evidence.dossier.sheets import Carried, Sheet, claim_story
from evidence.dossier.signature import sign, signature_box
from evidence.dossier.wording import wording
from evidence.entries import Key
from evidence.envelope import tallies
from evidence.errors import MissingError, RefusedError
from evidence.ledger import KeyPair
from evidence.looking import seen_questions
from evidence.photos import Worker
from evidence.placing import DOSSIER, beside, issued_name
from evidence.shapes import FileRef
from evidence.times import tzdata_version
from evidence.trade import Catalogue
from evidence.upkeep import History, Standing, as_json, measure
from evidence.upkeep.incidents import IncidentFacts
from evidence.upkeep.standing import incident_asked
from evidence.witness import NOBODY, Anchors
from evidence.words import Form

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Order:
    """What is asked for.

    Attributes:
        form: which dossier.
        incident: the incident it is about, for a claim.
        on: the day on whose end the record is read.
        paper: `letter` or `a4`.
        attach_cited: attach cited originals.
        most_bytes: of originals attached.
        meant_for: to whom it goes, for the `issued` entry.
        with_challenge: print the case against the record; without it the pages say so.
        anchors: the outsiders whom the issuer trusts.
    """

    form: Form
    incident: str | None
    on: date
    paper: str = "letter"
    attach_cited: bool = True
    most_bytes: int = 15_000_000
    meant_for: str | None = None
    with_challenge: bool = True
    anchors: Anchors = NOBODY


@dataclass(frozen=True, slots=True)
class IssuedFile:
    """A dossier that left: its path, sum and the seq of its `issued` entry."""

    path: Path
    sha256: str
    seq: int


def issue(
    record: Record,
    order: Order,
    catalogue: Catalogue,
    keys: KeyPair,
    out: Path,
    *,
    clock: Clock = now,
    progress: Progress = lambda _said: None,
) -> IssuedFile:
    """Make a dossier, sign it, write it down and put it where it was asked for.

    Raises:
        RefusedError: the form or the incident is not there, or `out` cannot be written.
    """
    with beside(out, DOSSIER) as place:
        progress("measuring the record")
        history = record.history(order.on, order.anchors)
        standing = measure(history, catalogue, record.root_on(order.on))
        facts = _incident(standing, order)
        order = replace(order, incident=facts.id)
        progress("preparing pictures and pages")
        grid = layout.grid(order.paper)
        bare = Sheet(
            standing,
            facts,
            catalogue,
            {},
            grid,
            with_challenge=order.with_challenge,
            seen=seen_questions(record, history),
        )
        signed = _made(record, order, bare, keys, clock)
        progress("signing and writing")
        place.write_bytes(signed)
        _sync(place)
        digest = hashlib.sha256(signed).hexdigest()
        body = _issued_body(record, order, catalogue, digest)
        draft = Draft("issued", body, _writer(record, keys))
        written = record.write([draft], keys.signer, clock=clock)
        place.replace(out)
    record.issued.mkdir(exist_ok=True)
    (record.issued / issued_name(order.form, digest)).write_bytes(signed)
    return IssuedFile(out, digest, written.entries[0].seq)


def _made(record: Record, order: Order, bare: Sheet, keys: KeyPair, clock: Clock) -> bytes:
    """The signed file: pictures prepared, contents gathered, pages laid out."""
    sheet = replace(bare, previews=dict(_previews(record, bare)))
    carried = contents(
        record,
        standing=as_json(sheet.standing),
        about=_about(order, sheet.history),
        catalogue=sheet.catalogue,
        cited=_cited_files(sheet),
        most_bytes=order.most_bytes if order.attach_cited else 0,
    )
    return _signed(record, sheet, carried, keys, clock)


def _incident(standing: Standing, order: Order) -> IncidentFacts:
    """The incident that the form is about."""
    if order.form is not Form.CLAIM:
        raise RefusedError(f"form {order.form.value!r}", "is not made yet", "Forms made: claim.")
    return incident_asked(standing, order.incident)


def _about(order: Order, history: History) -> Mapping[str, JsonValue]:
    """What `check` needs to make the pages' figures again."""
    return {
        "form": order.form,
        "incident": order.incident,
        "challenge": order.with_challenge,
        "on": order.on.isoformat(),
        "tzdata": tzdata_version(),
        "places": history.places_by,
        "program": metadata.version("roof-evidence"),
    }


def _previews(record: Record, sheet: Sheet) -> Iterator[tuple[str, Path]]:
    with Worker() as worker:
        for picture in sheet.pictures():
            path = record.preview(picture.file.sha256, worker)
            if path is not None:
                yield picture.file.sha256, path


def _cited_files(sheet: Sheet) -> Sequence[FileRef]:
    """The pictures shown first, then every other file of the entries cited."""
    shown = [picture.file for picture in sheet.pictures()]
    cited = set(sheet.cited)
    others = [
        picture.file
        for item in sheet.history.items
        if item.seq in cited and item.entry.kind != "witness"
        for picture in sorted(item.pictures, key=lambda picture: not picture.of_roof)
    ]
    return [*shown, *others]


def _key_entry(record: Record, keys: KeyPair) -> tuple[int, Key]:
    """The entry that names the certificate with which the dossier is signed."""
    wanted = hashlib.sha256(keys.certificate_der).hexdigest()
    for entry in record.entries:
        if isinstance(entry.body, Key) and entry.body.cert == wanted:
            return entry.seq, entry.body
    raise MissingError("the signing certificate", "is not named by any key entry of the record")


def _writer(record: Record, keys: KeyPair) -> str:
    return _key_entry(record, keys)[1].party


def _signed(record: Record, sheet: Sheet, carried: Contents, keys: KeyPair, clock: Clock) -> bytes:
    moment = clock()
    seq, key = _key_entry(record, keys)
    history = sheet.history
    name = history.parties()[key.party].name
    key_name = f"{keys.signer.verifier.key_id.hex()[:4]}-{keys.signer.verifier.key_id.hex()[4:]}"
    told = Carried(
        attached=[(part.name, len(part.data), part.description) for part in carried.attachments],
        left_out=carried.left_out,
        key_entry=seq,
    )
    words = wording("claim")
    title = f"{sheet.page_one.title}, {history.rig.name}"
    running = _running(sheet, key_name, moment.astimezone(history.home).date())
    pages = binding.build(claim_story(sheet, told), running, sheet.grid, title)
    unsigned = finish(
        pages,
        carried.attachments,
        title=title,
        author=name,
        subject=words.say("summary", "form"),
        producer=f"{PRODUCER} {metadata.version('roof-evidence')}",
        created=moment,
        box=binding.signature_place(sheet.grid),
    )
    at = say.moment(moment, history.home)
    lines = (
        words.say("signature", "signed", name=name),
        words.say("signature", "at", at=f"{at} ({say.offset(moment, history.home)})"),
        words.say("signature", "key", key=key_name, number=seq + 1),
    )
    return sign(
        unsigned,
        key=keys.signing_key,
        certificate_der=keys.certificate_der,
        signed_at=moment,
        reason=words.say("signature", "reason", size=len(record.lines)),
        box_pdf=signature_box(lines, *binding.BOX_SIZE),
    )


def _running(sheet: Sheet, key_name: str, issued_on: date) -> binding.Running:
    words, history, root = wording("claim"), sheet.history, sheet.standing.root
    half = say.grouped(root)[: len(say.grouped(root)) // 2].rstrip()
    rest = say.grouped(root)[len(half) :].strip()
    return binding.Running(
        left=words.say("summary", "form"),
        sample=words.say("summary", "sample") if history.case.sample else "",
        foot_left=words.say("foot", "left", footer=sheet.catalogue.footer),
        foot_right=words.say("foot", "right", date=say.day(issued_on)),
        code=f"roof-evidence head {history.size} {root} key {key_name}",
        code_lines=(
            words.say("summary", "head", size=history.size),
            *_quarters(half),
            *_quarters(rest),
            words.say("summary", "key", key=key_name),
        ),
    )


def _quarters(groups: str) -> tuple[str, ...]:
    """Half a hash on one line; two where it would be too long beside the signature's box."""
    parts = groups.split(" ")
    middle = len(parts) // 2
    return " ".join(parts[:middle]), " ".join(parts[middle:])


def _issued_body(
    record: Record, order: Order, catalogue: Catalogue, digest: str
) -> dict[str, JsonValue]:
    body: dict[str, JsonValue] = {
        "form": order.form,
        "file": digest,
        "size": len(record.lines),
        "tallies": {**tallies(record.entries)},
        "catalogue": catalogue.sha256,
    }
    if order.incident is not None:
        body["incident"] = order.incident
    if order.meant_for is not None:
        body["for"] = order.meant_for
    return body


def _sync(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())
