# fmt: off
"""A second reader of cases, packs and dossiers, written from FORMAT.md alone (its § stand below).

    python second_reader.py CASE | PACK.zip | FOLDER into which a dossier's attachments were saved

It takes steps 1 to 8; of letters, cosigners, time stamps but by ECDSA, codes in pictures, signed PDFs and figures it says
`not-checked`. It reads fields, types, OIDs and SQL from the page, and needs `cryptography` and the standard library.
"""
import hashlib, json, re, sqlite3, struct, sys, unicodedata, zlib, zoneinfo
from base64 import b64decode, b64encode
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path
from types import SimpleNamespace as Bunch

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, ed25519
from cryptography.x509 import ExtendedKeyUsage, load_der_x509_certificate

ZONES = zoneinfo.available_timezones()
PAGE = Path(__file__).parents[2].joinpath("evidence/check/FORMAT.md").read_text("utf-8")
class Told(BaseException): """What a step ends with where it is neither `ok` nor `changed`."""
def word(look, *given):
    try: return look(*given) or "ok"
    except Told as told: return str(told)
    except Exception: return "changed"  # a stranger's bytes may trip a reader anywhere: then they are not as due
def need(holds):
    if not holds: raise ValueError
def block(mark): return re.search(rf"(?ms)^```{mark}\n(.*?)^```", PAGE)[1]
def listed(mark): return dict(line.split(" : ") for line in block(mark).replace("\n  ", " ").splitlines() if " : " in line)
def sha(*parts): return hashlib.sha256(b"".join(parts)).digest()

# § 1 JSON
def canonical(value, depth=64):
    if not isinstance(value, dict | list):
        need(type(value) is not float and (type(value) is not int or abs(value) < 2**53))
        return json.dumps(value, ensure_ascii=False)
    need(depth)
    if isinstance(value, list): return "[" + ",".join(canonical(item, depth - 1) for item in value) + "]"
    names = sorted(value, key=lambda name: name.encode("utf-16-be"))
    return "{" + ",".join(f"{canonical(name)}:{canonical(value[name], depth - 1)}" for name in names) + "}"
def plain(data):
    value = json.loads(data.decode(), object_pairs_hook=lambda pairs: need(len(dict(pairs)) == len(pairs)) or dict(pairs))
    return canonical(value).encode() and value
def unbase64(text): return need(b64encode(b64decode(text)).decode() == text) or b64decode(text)

# § 3 Fields
FIELDS, TYPES = listed("fields"), {}
for title, pattern in (listed("types") | listed("words")).items():
    TYPES[title] = re.sub("<([a-z]+)>", lambda part: TYPES[part[1]], pattern)
def point(text):  # its first and its last moment
    at = datetime.fromisoformat(text if "T" in text else f"{text}-01"[:10] + "T00:00Z")
    after = at + timedelta(days=1) if len(text) == 10 else (at + timedelta(31)).replace(day=1)
    return at, at + timedelta(seconds=0 if text[16] == ":" else 59) if "T" in text else after - timedelta(seconds=1)
def when(start, _, end): need(point(end) and (start in ("", "..") or point(start)[0] <= point(end)[1]))
MORE = {"text": lambda text: need(unicodedata.is_normalized("NFC", text)), "day": point, "utc": point,  # beyond patterns
        "zone": lambda text: need(text in ZONES), "when": lambda text: when(*text.rpartition("/"))}
def fits(value, kind):
    if len(either := re.split(r"\|(?![^\[{]*[\]}])", kind)) > 1: return any(fits(value, one) for one in either)
    if many := re.fullmatch(r"\[(.*)\](\+|\*2)?", kind):
        enough = {None: range(2**40), "+": range(1, 2**40), "*2": (2,)}[many[2]]
        return isinstance(value, list) and len(value) in enough and all(fits(item, many[1]) for item in value)
    if pairs := re.fullmatch(r"\{(\w+):(.*)\}", kind):
        return isinstance(value, dict) and all(fits(k, pairs[1]) and fits(v, pairs[2]) for k, v in value.items())
    if ends := re.fullmatch(r"(-?\d+)\.\.(\d*)", kind):
        return type(value) is int and int(ends[1]) <= value <= int(ends[2] or 2**53)
    if kind in FIELDS:
        named = [re.fullmatch(r"(\w+)(\??):(.*)", field).groups() for field in FIELDS[kind].split()]
        return isinstance(value, dict) and value.keys() <= {name for name, _, _ in named} and all(
            (may and value.get(name) is None) or (name in value and fits(value[name], of)) for name, may, of in named)
    return re.fullmatch(TYPES.get(kind, kind), canonical(value)) and word(MORE.get(kind, repr), value) != "changed"
def ordered(of, *ends): return None in map(of.get, ends) or of[ends[0]] <= of[ends[1]]
def apart(of, rows, name): return len({row[name] for row in of.get(rows) or []}) == len(of.get(rows) or [])
BEYOND = {
    "rule": lambda b: ordered(b, "applies_from", "applies_to") and ordered(b, "from_days", "days"),
    "ownership": lambda b: ordered(b, "from", "to"),
    "rig": lambda b: all(ordered(place, "since", "until") for place in b["zones"]),
    "inspection": lambda b: apart(b, "zones", "zone") and apart(b, "rechecks", "finding"),
    "handover": lambda b: apart(b, "zones", "zone") and apart(b, "defects", "finding") and
        {row["over"] for row in b["signatures"]} <= {sha(b["statement"].encode()).hex()},
    "correction": lambda b: (b.get("set") is None, b.get("withdraw")) in ((False, None), (True, True))}
def link_of(line):
    entry = plain(line)
    return need(canonical(entry).encode() == line and fits(entry, "link")) or Bunch(**entry, line=line)
def entry_of(line):
    entry = link_of(line)
    need(fits(plain(line), "entry") and entry.kind.islower() and entry.kind in FIELDS.keys() - {"entry", "link"})
    return need(fits(entry.body, entry.kind) and BEYOND.get(entry.kind, repr)(entry.body)) or entry

# § 4 The tree
def node(left, right): return sha(b"\1", left, right)
def root_of(lines):
    split = 1 << (len(lines) - 1).bit_length() - 1 if len(lines) > 1 else 0
    return node(root_of(lines[:split]), root_of(lines[split:])) if split else sha(b"\0", *lines)
def included(at, size, leaf, proof):  # the root that the proof makes
    if size == 1: return need(not proof) or leaf
    split, (*rest, last) = 1 << (size - 1).bit_length() - 1, proof
    return node(included(at, split, leaf, rest), last) if at < split else node(last, included(at - split, size - split, leaf, rest))
def continued(first, size, root, proof, whole=True):  # both roots that the proof makes
    if first == size: return need(len(proof) == (not whole)) or ((root, root) if whole else (*proof, *proof))
    split, (*rest, last) = 1 << (size - 1).bit_length() - 1, proof
    if first > split: return tuple(node(last, one) for one in continued(first - split, size - split, root, rest, False))
    old, new = continued(first, split, root, rest, whole)
    return old, node(new, last)

# § 5 Notes, heads, keys
def note_of(whole):
    text, divider, lines = whole.rpartition("\n\n")
    rows = re.findall("(?m)^\u2014 ([^\\s+\0-\x1f]+) (\\S+)$", lines)
    need(divider and lines.endswith("\n") and len(whole.encode()) <= 10**6 and not re.search(r"[\0-\x09\x0b-\x1f]", text))
    need(len(rows) == lines.count("\n") <= 100 and all(len(unbase64(code)) > 4 for _, code in rows))
    return Bunch(text=text + "\n", whole=whole, lines=[(name, unbase64(code)[:4], unbase64(code)[4:]) for name, code in rows])
def head_of(whole):
    origin, size, root, end = (note := note_of(whole)).text.split("\n")
    need(origin and re.fullmatch("0|[1-9][0-9]{0,17}", size) and not end and len(unbase64(root)) == 32)
    return Bunch(note=note, origin=origin, size=int(size), root=unbase64(root))
def key_of(vkey):  # name, key ID, 32 bytes
    name, key_id, code = re.fullmatch(r"([^\s+\0-\x1f]+)\+([0-9a-f]{8})\+(.+)", vkey).groups()
    need(len(blob := unbase64(code)) == 33 and blob[0] == 1 and sha(name.encode(), b"\n", blob)[:4].hex() == key_id)
    need((blob[1:-1] + bytes([blob[-1] & 127])).hex() not in block("low-order"))
    return name, bytes.fromhex(key_id), blob[1:]
def opened(note, entries):  # with the keys that stand after these entries
    ring = {}
    for body in (e.body for e in entries if e.kind == "key" and e.body["use"] == "log"):
        ring[body["key"]] = body["event"] == "added"
    keys = [key_of(key) for key, stands in ring.items() if stands and word(key_of, key) != "changed"]
    signed = [(raw, line[2]) for line in note.lines for *known, raw in keys if known == [*line[:2]]]
    for raw, signature in signed: ed25519.Ed25519PublicKey.from_public_bytes(raw).verify(signature, note.text.encode())
    need(signed)

# § 6 Outsiders
OIDS = {bytes.fromhex(code): name for name, code in listed("oids").items()}
HASHES = {"sha256": hashes.SHA256(), "sha384": hashes.SHA384(), "sha512": hashes.SHA512()}
def der(data):  # the elements that lie side by side
    while data:
        size, body = data[1], 2
        if size > 127: size, body = int.from_bytes(data[2:size - 126], "big"), size - 126
        need(data[0] & 31 != 31 and body + size <= len(data) and (body == 2 or (size > 127 and data[2])))
        yield Bunch(tag=data[0], body=data[body:body + size], raw=data[:body + size])
        data = data[body + size:]
def inside(element, *path): return inside([*der(element.body)][path[0]], *path[1:]) if path else [*der(element.body)]
def oid(element): return OIDS.get(element.body, "")
def digest(kind, data): return hashlib.new(kind, data).digest()
def stamped(answer, note):  # RFC 3161: time and name
    status, token = inside(*der(answer))
    _, _, stated, *held, signers = inside(token, 1, 0)
    (signer,), (info,), what = inside(signers), inside(stated, 1), oid(inside(stated)[0])
    need(len(answer) <= 10**6 and inside(status)[0].body in (b"\0", b"\1") and oid(inside(token)[0]) == "signed-data")
    _, _, imprint, _, moment, *_ = inside(*der(info.body))
    need(oid(inside(imprint, 0)[0]) in HASHES and inside(imprint)[1].body == digest(oid(inside(imprint, 0)[0]), note))
    _, who, way, attributes, scheme, signature, *_ = inside(signer)
    kind, scheme = oid(inside(way)[0]), oid(inside(scheme)[0])
    told = {oid(inside(row)[0]): inside(row, 1)[0] for row in inside(attributes)}
    need(oid(told["content-type"]) == what == "tst-info" and kind in HASHES and told["message-digest"].body == digest(kind, info.body))
    certificates = [(row.raw, load_der_x509_certificate(row.raw)) for bag in held if bag.tag == 0xA0 for row in inside(bag)]
    issuer, serial = inside(who)
    ((raw, one),) = [(raw, c) for raw, c in certificates if c.issuer.public_bytes() == issuer.raw
                     and c.serial_number == int.from_bytes(serial.body, "big")]
    if scheme != f"ecdsa-{kind}" or "signing-certificate" in told: raise Told("not-checked")
    *by, sum_of = [part for part in inside(told["signing-certificate-v2"], 0, 0)[:2] if part.tag == 4 or oid(inside(part)[0])]
    need(sum_of.body == digest(oid(inside(by[0])[0]) if by else "sha256", raw))
    one.public_key().verify(signature.body, b"\x31" + attributes.raw[1:], ec.ECDSA(HASHES[kind]))
    usage, at = one.extensions.get_extension_for_class(ExtendedKeyUsage), datetime.strptime(moment.body[:14].decode() + "Z", "%Y%m%d%H%M%S%z")
    need(usage.critical and [use.dotted_string for use in usage.value] == ["1.3.6.1.5.5.7.3.8"])
    need(one.not_valid_before_utc <= at <= one.not_valid_after_utc)
    names = [next((a.value for a in one.subject if a.rfc4514_attribute_name == x), "") for x in ("O", "CN")]
    return at, f"{names[0]} ({names[1]})" if all(names) else "".join(names)

# §§ 8 to 11 Cases, packs, attachments
def material(path):
    if (path / "ledger.sqlite").is_file():
        files = {f"original-{one.name}": one.read_bytes() for one in (path / "originals").iterdir()}
        return Bunch(target="case", files=files, damaged=set(), read=lambda: ledger(path / "ledger.sqlite"))
    held = unzipped(path.read_bytes()) if path.is_file() else {one.name: one.read_bytes() for one in path.iterdir()}
    files, damaged = held if path.is_file() else (held, set())
    need(files.keys() & {"record.jsonl", "manifest.json"})
    return Bunch(target="dossier" if path.is_dir() else "pack", files=files, damaged=damaged, read=lambda: filed(files))
def ledger(path):
    objects = "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY type, name"
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as base, closing(sqlite3.connect(":memory:")) as own:
        own.executescript(block("sql"))
        need(base.execute(objects).fetchall() == own.execute(objects).fetchall())
        known = [base.execute(f"PRAGMA {asked}").fetchone()[0] for asked in ("application_id", "user_version", "integrity_check")]
        need(known == [0x52664576, 1, "ok"])
        return [[row[0] for row in base.execute(f"SELECT {rows}")] for rows in ("bytes FROM entries ORDER BY seq", "note FROM heads ORDER BY size")]
def filed(files):
    lines, text = files["record.jsonl"], files["heads.txt"].decode()
    notes = re.findall(r"(?s)(.*?\n\n.*?\n)\n", text)
    return need(lines[-1:] in (b"\n", b"") and "".join(f"{note}\n" for note in notes) == text) or (lines.split(b"\n")[:-1], notes)
def unzipped(data):  # made again from what its directory says, and compared
    files, damaged, whole, rows, at = {}, set(), b"", b"", (begin := int.from_bytes(data[-6:-2], "little"))
    while data[at:at + 4] == b"PK\1\2":
        crc, _, size, length = struct.unpack("<3LH", data[at + 16:at + 30])
        name = data[at + 46:at + 46 + length]
        same = struct.pack("<5H3L2H", 20, 0, 0, 0, 0x21, crc, size, size, length, 0)
        rows += b"PK\1\2\x14\3" + same + struct.pack("<3H2L", 0, 0, 0, 0o644 << 16, len(whole)) + name
        whole += b"PK\3\4" + same + name
        held = data[len(whole):len(whole) + size]
        whole, at = whole + held, begin + len(rows)
        need(re.fullmatch(rb"[A-Za-z0-9._-]{1,200}", name) and name.strip(b"."))
        if zlib.crc32(held) == crc: files[name.decode()] = held
        else: damaged.add(name.decode())
    names = {name.lower() for name in (*files, *damaged)}
    need(len(names) == len(files) + len(damaged) and {"record.jsonl", "heads.txt"} <= names)
    return need(data == whole + rows + struct.pack("<4s4H2LH", b"PK\5\6", 0, 0, len(names), len(names), len(rows), len(whole), 0)) or (files, damaged)

# § 13 The steps
def entries(m):
    if not ZONES: raise Told("not-checked")
    m.cut = plain(m.files["proofs.json"]) if m.target == "pack" and "proofs.json" in (*m.files, *m.damaged) else None
    need(m.cut is None or fits(m.cut, "Proofs"))
    m.lines, m.notes = m.read()
    m.size, m.entries = m.cut["size"] if m.cut else len(m.lines), [entry_of(line) for line in m.lines]
    places = [entry.seq for entry in m.entries]
    need(sorted({*places, 0}) == places and places[-1] < m.size and [e.seq for e in m.entries if e.kind == "case"] == [0])
    return "missing" if len(places) < m.size else None
def chain(m):
    before, numbers = Bunch(seq=-1, logged=""), {}
    for place, link in enumerate(map(link_of, m.lines)):
        (nth, gone), absent = numbers.get(link.kind, (0, 0)), link.seq - place
        need(1 <= link.nth - nth <= 1 + absent - gone and (m.cut or not absent))
        if link.seq == before.seq + 1:
            need(link.prev == (sha(before.line).hex() if place else "0" * 64) and (link.kind == "clock" or link.logged >= before.logged))
        before, numbers[link.kind] = link, (link.nth, absent)
def heads(m):
    read = [head_of(note) for note in m.notes if word(head_of, note) != "changed"]
    m.heads, last, wrong = [], 0, len(m.notes) - len(read)
    for head in read:
        due = head.origin == f"roof-evidence/{m.entries[0].body['case_id']}" and head.size > last
        due = due and (m.cut or (head.size <= m.size and head.root == root_of(m.lines[:head.size])))
        m.heads += [head] if due or not m.cut else []
        wrong, last = wrong + (not due), max(one.size for one in [*m.heads, Bunch(size=0)])
    need(not wrong and last == m.size)
    for row, head in zip(m.cut["consistency"] if m.cut else (), m.heads[:-1], strict=bool(m.cut)):
        need(row["size"] == head.size and continued(head.size, m.size, head.root, [*map(bytes.fromhex, row["proof"])]) == (head.root, m.heads[-1].root))
    for row, entry in zip(m.cut["inclusion"] if m.cut else (), m.entries, strict=bool(m.cut)):
        need(row["seq"] == entry.seq and included(entry.seq, m.size, sha(b"\0", entry.line), [*map(bytes.fromhex, row["proof"])]) == m.heads[-1].root)
def keys(m):
    held, numbers = 0, [e.nth for e in m.entries if e.kind == "key"]
    least = next((e.seq for place, e in enumerate(m.entries) if e.seq != place or e.kind not in ("case", "key")), m.size)
    for head in m.heads:
        opened(head.note, [e for e in m.entries if e.seq < max(held, least)])
        held = max(held, head.size)
    return None if numbers == [*range(1, len(numbers) + 1)] else "not-checked"
def at_hand(m, total):
    named = [name for name in m.files if name.startswith(f"original-{total}.") and m.target != "dossier"]
    summed = [name for name in m.files if m.sums[name] == total and (m.target == "dossier" or name.startswith("witness-"))]
    return m.files.get((named + summed + [None])[0])
def answer(m, e):
    head, count, at = next(head for head in m.heads if head.size == e.body["size"]), 1 + (e.body["type"] == "letter"), point(e.body["time"])[0]
    need(head.root.hex() == e.body["root"] and head.size <= e.seq)
    files = [held for ref in e.files[:count] if (held := at_hand(m, ref["sha256"])) is not None]
    if len(files) < count: raise Told("missing")
    if e.body["type"] != "rfc3161": raise Told("not-checked")
    need((at, e.body["name"]) == stamped(files[0], head.note.whole.encode()))
    return "named" if at > point(e.logged)[0] + timedelta(minutes=10) else m.verified.append(e)
def witnesses(m):
    m.told = {word(answer, m, e) for e in m.entries if e.kind == "witness"}
    return next((one for one in ("changed", "missing", "not-checked", "named") if one in m.told), None)
def brackets(m):
    if "not-checked" in m.told or any(ref.get("card") for e in m.entries for ref in e.files): return "not-checked"
    early = [e for e in m.entries for w in m.verified if w.seq < e.seq and e.logged < w.body["time"]]
    late = [e for e in m.entries for w in m.verified if w.body["size"] > e.seq and e.logged > w.body["time"]]
    back = [e for before, e in zip(m.entries, m.entries[1:]) if e.logged < before.logged]
    return "named" if early or late or back or not m.verified else None
def originals(m):
    rows = plain(m.files["manifest.json"]).get("left_out") or [] if m.target != "case" else []
    left, refs, gone = [row.get("sha256") for row in rows if isinstance(row, dict)], [ref for e in m.entries for ref in e.files], False
    for ref, total in ((ref, ref["sha256"]) for ref in refs):
        if (data := at_hand(m, total)) is not None: need((sha(data).hex(), len(data)) == (total, ref["bytes"]))
        elif any(name.startswith(f"original-{total}.") for name in (*m.files, *m.damaged)): need(False)
        else: gone |= total not in left
    held = {m.sums[name] if m.target == "dossier" else name[9:].partition(".")[0] for name in m.files if name[:9] == "original-"}
    return "missing" if gone else "named" if held - {ref["sha256"] for ref in refs} else None
def manifest(m):
    rows = {name: {"sha256": m.sums[name], "bytes": len(data)} for name, data in m.files.items() if name != "manifest.json"}
    need(plain(m.files["manifest.json"])["files"] == rows and not m.damaged)
def seals(value, *path):
    if fits(value, "Sealed"): return {".".join(path): value["sealed"]}
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return {field: total for name, one in inner for field, total in seals(one, *path, str(name)).items()}
def sealed(m):
    known = {(e.seq, field): total for e in m.entries for field, total in seals(e.body).items()}
    if "revealed.json" not in (*m.files, *m.damaged): return "not-checked" if known else None
    need(fits(rows := plain(m.files["revealed.json"]), "[Revealed]") and len({(r["seq"], r["field"]) for r in rows}) == len(rows))
    for r in rows: need(known[r["seq"], r["field"]] == sha(bytes.fromhex(r["salt"]), canonical(r["value"]).encode()).hex())
def check(path):  # the result, and the word of every step from 1 to 8; a file that is none of ours is refused
    if word(material, Path(path)) == "changed": return "refused", {}
    m, found = material(Path(path)), dict.fromkeys(range(1, 9), "not-checked")
    m.lines, m.verified, m.sums = None, [], {name: sha(data).hex() for name, data in m.files.items()}
    found[1] = word(entries, m)
    if m.lines is not None and (found[1] != "changed" or not m.cut): found[2] = word(chain, m)
    if found[1] in ("ok", "missing"):
        for n, step in enumerate((heads, keys, witnesses, brackets, originals, sealed), 3): found[n] = word(step, m)
    if m.target == "pack" or (m.target == "dossier" and m.lines is not None): found[7] = found[7] if word(manifest, m) == "ok" else "changed"
    return next((name for name, sign in (("changed", "changed"), ("incomplete", "missing")) if sign in found.values()), "unchanged"), found
if __name__ == "__main__":
    result, found = check(sys.argv[1])
    print(*(f"{n} {said}" for n, said in {**found, 9: "not-checked", 10: "not-checked"}.items()), result, sep="\n")
    sys.exit({"unchanged": 0, "refused": 2, "incomplete": 3, "changed": 4}[result])
