"""FORMAT.md held to the code: every list, name and number on it is the program's own."""

import re

import pytest
from asn1crypto import algos, cms, tsp
from pydantic import TypeAdapter, ValidationError

from evidence import carried, proving, sealed_values, shapes, stored
from evidence import words as w
from evidence.check import format_page
from evidence.check.report import Found, Result
from evidence.dossier import attachments
from evidence.dossier.archive import FIELD_NAME, PRODUCER
from evidence.entries import BODIES
from evidence.envelope import VERSION
from evidence.ledger import canonical, guards, heads, log, low_order, notes, schema
from evidence.ledger.strict import decimal_strict
from evidence.packed import PROOFS_NAME
from evidence.steps import steps
from evidence.times import GRACE
from evidence.witness import cosign, key_record, letter, timestamp
from evidence.witness.card import Card
from evidence.words import MAX_TEXT
from tests.check.grammar import Grammar
from tests.outside import second_reader

PAGE = format_page()


def block(mark: str) -> str:
    (found,) = re.findall(rf"^```{mark}\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
    return found


def rows(mark: str) -> dict[str, str]:
    lines = block(mark).replace("\n  ", " ").splitlines()
    return {name: rest.strip() for name, _, rest in (line.partition(" :") for line in lines)}


def test_the_fields_of_every_kind_are_those_of_the_models():
    of_the_chain = "v:1..1 seq:0.. nth:0.. prev:str kind:str body:{str:any} logged:utc by:str"
    link = {"link": f"{of_the_chain} files:[any]"}

    assert rows("fields") == link | Grammar().fields
    assert {name for name in rows("fields") if name.islower()} == {"link", "entry", *BODIES}
    assert {field.split(":")[0] for field in link["link"].split()} == log._FIELDS


def test_the_words_are_those_of_the_lists():
    assert rows("words") == Grammar().words


def test_every_type_in_a_field_has_its_line():
    types = set(re.findall(r"[a-zA-Z][\w-]*(?![\w-]*\??:)", " ".join(rows("fields").values())))
    quoted = set(re.findall(r'"([\w-]+)"', " ".join(rows("fields").values())))

    assert types - quoted <= rows("types").keys() | rows("words").keys() | rows("fields").keys()


PATTERNS = {
    "slug": w.Slug, "sha256": w.Sha256, "case-id": w.CaseId, "decimal": w.Decimal,
    "currency": w.Currency, "zone-type": w.ZoneType, "finding-type": w.FindingType,
}  # fmt: skip


@pytest.mark.parametrize("name", PATTERNS)
def test_a_pattern_on_the_page_is_the_one_in_the_code(name):
    (constraints,) = PATTERNS[name].__metadata__

    assert f'"{constraints.pattern[1:-1]}"' == rows("types")[name]


SAMPLES = [
    "2025-05-30", "2025-02-29", "2024-02-29", "2025-13-01", "2025-00-10", "1899-12-31",
    "2199-12-31", "2200-01-01", "2025-05", "2025-13", "2025-5", "2025-05-30T12:10-05:00",
    "2025-05-30T12:10:05Z", "2025-05-30T12:10Z", "2025-05-30T12:10", "2025-05-30T24:00Z",
    "2025-05-30T23:60Z", "2025-05-30T12:10:60Z", "2025-05-30T12:10+14:00", "2025-05-30T12:10+14:01",
    "2025-05-30T12:10+13:59", "2025-05-30T12:10-12:00", "2025-05-30T12:10-12:01",
    "2025-05-30T12:10-00:00", "2025-05-30T12:10+00:00", "2025-05-30t12:10Z", "../2025-06-02",
    "2025-05-30/2025-06-02", "2025-06-02/2025-05-30", "2025-06/2025-06-02", "2025-03-01/2025-02",
    "2025-02/2025-02", "2025-05-30/..", "/2025-05-30", "2025-05-30/", "a", "A", "", "a b", "a\n",
    "\n", "a\tb", "a\x7fb", "\u202ea", "\u2028", "\\", '"', "café", "cafe\u0301", "é" * 4000,
    "é" * 4001, "🚐" * 4000, "\U0001f690" * 4001, "a" * 40, "a" * 41, "0" * 64, "0" * 63 + "A",
    "America/Chicago", "america/chicago", "America/Nowhere", "UTC", "Z", "../UTC", "", "٢٠٢٥-05-30",
    "1.5", "-0", "01", "1.", "USD",
]  # fmt: skip

TYPES = PATTERNS | {
    "text": w.Text, "day": w.Day, "utc": w.UtcTime, "when": w.When, "zone": w.ZoneKey,
    "Hex": shapes.Hex, "media-type": shapes.FileRef.model_fields["type"].rebuild_annotation(),
}  # fmt: skip


@pytest.mark.parametrize("name", TYPES)
def test_a_value_is_of_a_type_on_the_page_where_the_program_takes_it(name):
    adapter = TypeAdapter(TYPES[name])

    for value in [
        *SAMPLES,
        "image/jpeg",
        "a/b/c",
        "a" * 98 + "/b",
        "a" * 99 + "/b",
        None,
        1,
        True,
        [],
        {},
    ]:
        try:
            adapter.validate_json(canonical.dumps(value), strict=True)
        except ValidationError:
            taken = False
        else:
            taken = True
        assert bool(second_reader.fits(value, name)) is taken, (name, value)


def test_the_definitions_of_the_ledger_are_its_own():
    assert block("sql") == ";\n\n".join(schema.STATEMENTS) + ";\n"


def test_the_keys_of_low_order_are_those_that_are_refused():
    assert {bytes.fromhex(line) for line in block("low-order").split()} == low_order._LOW_ORDER_Y


def test_the_object_identifiers_are_those_of_their_names():
    known = {
        "signed-data": cms.ContentType("signed_data"),
        "tst-info": tsp.EncapsulatedContentInfo._fields[0][1]("tst_info"),
        "content-type": cms.CMSAttributeType("content_type"),
        "message-digest": cms.CMSAttributeType("message_digest"),
        "signing-certificate": cms.CMSAttributeType("signing_certificate"),
        "signing-certificate-v2": cms.CMSAttributeType("signing_certificate_v2"),
        "sha1": algos.DigestAlgorithmId("sha1"),
        "rsa": algos.SignedDigestAlgorithmId("rsassa_pkcs1v15"),
    }
    for bits in (256, 384, 512):
        known[f"sha{bits}"] = algos.DigestAlgorithmId(f"sha{bits}")
        known[f"ecdsa-sha{bits}"] = algos.SignedDigestAlgorithmId(f"sha{bits}_ecdsa")
        known[f"rsa-sha{bits}"] = algos.SignedDigestAlgorithmId(f"sha{bits}_rsa")

    assert rows("oids") == {name: oid.contents.hex() for name, oid in known.items()}


def test_the_steps_are_the_ten_in_their_order():
    found = re.findall(r"^\| (\d+) ([a-z ]+?) \|", PAGE, re.MULTILINE)

    assert found == [(str(step.n), step.name) for step in steps()]


def test_the_files_are_those_that_a_dossier_and_a_pack_carry():
    part = PAGE.split("## 9 ")[1].split("## 10 ")[0]
    named = re.findall(r"`([^`]+)`", "".join(re.findall(r"^\| (`.*?) \|", part, re.MULTILINE)))

    assert set(named) == {
        carried.RECORD_NAME, carried.HEADS_NAME, PROOFS_NAME, carried.STANDING_NAME,
        sealed_values.REVEALED_NAME, carried.OWN_ROWS, carried.HOW_TO_CHECK, carried.CHECK_PAGE,
        carried.MANIFEST_NAME, f"{carried.ANSWER}<n>.<ext>", f"{carried.ORIGINAL}<sha256>.<ext>",
        f"{carried.DOSSIER}<form>-<16 digits>.pdf",
    }  # fmt: skip


SAID = {
    "the version": f"Format version **{VERSION}**",
    "depth": f"at most {canonical.MAX_DEPTH} lists and objects",
    "decimals": f"1 to {len(str(10**17))} ASCII digits",
    "the first prev": f"{len(log.GENESIS_PREV)} zeros",
    "the kind that sets the clock": f"kind `{log.CLOCK}`",
    "the origin": f"`{heads.origin_of('<case_id>')}`",
    "text": f"{{1,{MAX_TEXT}}}",
    "signatures of a note": f"1 to {notes.MAX_SIGNATURES} lines",
    "bytes of a note": f"A note has at most {notes.MAX_BYTES:,} bytes",
    "key types": f"Type {notes.ED25519.hex()} signs heads, type {cosign.COSIGNATURE.hex()} cosigns",
    "bytes of a time stamp": f"in DER, of at most {timestamp.MAX_BYTES:,} bytes",
    "a sample authority": f"`{timestamp.SAMPLE_ORGANIZATION}`",
    "seconds of a cosigner": f"from 1 to {cosign._LAST_SECOND}",
    "bytes of a letter": f"at most {letter.MAX_BYTES:,} bytes and {letter.MAX_LINE} bytes a line",
    "signatures of a letter": f"with 1 to {letter._MOST_SIGNATURES} DKIM-Signature fields",
    "bytes of a signature": f"at most {letter._MOST_FIELD:,} bytes, with no run of 100 blanks",
    "bytes of a key record": f"at most {key_record.MAX_BYTES:,} bytes of ASCII",
    "RSA": f"RSA of {key_record._SMALLEST_BITS:,} to {key_record._LARGEST_BITS:,} bits",
    "the grace": f"more than {GRACE.seconds // 60} minutes later",
    "the ledger's id": f"`application_id` 0x{schema.APPLICATION_ID:X}",
    "the ledger's version": f"`user_version` {schema.VERSION}",
    "bytes of an entry": f"none above {guards.MAX_ENTRY:,} bytes",
    "bytes of a salt": f"the salt {sealed_values.SALT_BYTES} bytes",
    "names": stored.layout._FLAT_NAME.pattern,
    "attachments": f"At most {attachments.MAX_ATTACHED_FILES:,} files, "
    f"{attachments.MAX_ATTACHED_BYTES >> 20} MiB",
    "the signature's field": f"`{FIELD_NAME}`",
    "the producer": f"`{PRODUCER}`",
    "version needed": f"version {stored.layout._PLAIN}, flags {stored.layout._NO_FLAGS}",
    "system": f"by {stored.layout._PLAIN} with system {stored.layout.UNIX}",
    "date": f"date 0x{stored.layout._DOS_DATE:04x}",
    "attributes": f"0o{stored.layout.MODE >> 16:o} << 16",
    "wide sizes": f"version {stored.layout._ZIP64}, both",
    "members": f"more than {stored.layout.MOST_MEMBERS:,} members",
    "the end": f"{stored.layout.END_64.size - 12} bytes of content",
}
"""Sentences of the page with the program's own figures in them."""


@pytest.mark.parametrize("what", SAID)
def test_a_number_on_the_page_is_the_program_s(what):
    assert SAID[what] in " ".join(PAGE.split()), SAID[what]


def test_the_results_and_their_exit_codes_are_the_contract_s():
    told = " ".join(PAGE.split()).split("**The result**: ")[1].split("It is always told")[0]

    assert re.findall(r"`(\w+)` \((?:exit code )?(\d)\)", told) == [
        (result, str(result.exit_code))
        for result in (Result.CHANGED, Result.INCOMPLETE, Result.UNCHANGED)
    ]
    words = PAGE.split("Each ends as one word: ")[1].split(". Where")[0]
    assert set(re.findall(r"`([\w-]+)`", words)) == set(Found)


def test_the_largest_size_of_a_plain_member_is_the_layout_s():
    assert stored.layout.LARGEST == 2**31 - 1
    assert "Where a size is above 2^31 - 1" in PAGE


def test_a_decimal_is_what_the_page_says():
    assert decimal_strict("9" * 18) == 10**18 - 1


def test_a_card_s_text_is_as_the_page_has_it():
    assert Card("0" * 64, "0" * 32, "vent-1").text == f"CARD1/{'A' * 52}/{'A' * 26}/VENT-1"
    assert "`CARD1/<answer>/<case_id>/<ZONE>`" in PAGE


def test_the_marks_on_sealed_values_and_proofs_are_the_models_own():
    assert set(sealed_values.Revealed.model_fields) == {"seq", "field", "salt", "value"}
    assert set(proving.Proofs.model_fields) == {"size", "inclusion", "consistency"}
