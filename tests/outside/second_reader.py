"""A second reader of cases, packs and dossiers, written from FORMAT.md alone (its § stand below).

    python second_reader.py CASE | PACK.zip | FOLDER into which a dossier's attachments were saved

It takes steps 1 to 8. Of letters, codes in pictures, signed PDFs and figures it says `not-checked`; it knows nobody's
keys and holds everything in memory. Fields, types, object identifiers and SQL it reads from the page itself; else it
needs `cryptography` and the standard library. It is a listing to be read at one sitting, so functions stand close.
"""
# fmt: off
# ruff: noqa: E401, E501, E701, E704, BLE001, FBT, N818, PLW2901
import hashlib, json, re, sqlite3, struct, sys, zlib
from base64 import b64decode, b64encode
from contextlib import closing
from datetime import UTC, datetime, timedelta
from functools import reduce
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace as Bunch
from unicodedata import is_normalized
from zoneinfo import available_timezones

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, padding
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import ExtendedKeyUsage, load_der_x509_certificate

PAGE = Path(__file__).parents[2].joinpath("evidence/check/FORMAT.md").read_text("utf-8")
class Told(BaseException): """What a step ends with where it is neither `ok` nor `changed`; or `refused`."""
def word(look, *given):
    try: return look(*given) or "ok"
    except Told as told: return str(told)
    except Exception: return "changed"  # a stranger's bytes may trip a reader anywhere: then they are not as due
def need(holds):
    if not holds: raise ValueError
def block(mark): return re.search(rf"(?ms)^```{mark}\n(.*?)^```", PAGE)[1]
def listed(mark): return {line.partition(" : ")[0]: line.partition(" : ")[2] for line in block(mark).replace("\n  ", " ").splitlines()}
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
def once(pairs):
    need(len(dict(pairs)) == len(pairs))
    return dict(pairs)
def plain(data):
    value = json.loads(data.decode(), object_pairs_hook=once)
    canonical(value).encode()  # only to see that it can be written
    return value
def unbase64(text):
    need(b64encode(b64decode(text)).decode() == text)
    return b64decode(text)

# § 3 Fields
FIELDS, TYPES = listed("fields"), {}
for title, pattern in (listed("types") | listed("words")).items():
    TYPES[title] = re.sub("<([a-z]+)>", lambda part: TYPES[part[1]], pattern)
def point(text):  # its first and its last moment
    at = datetime.fromisoformat(text if "T" in text else f"{text}-01"[:10] + "T00:00Z")
    after = at + timedelta(days=1) if len(text) == 10 else (at + timedelta(31)).replace(day=1)
    return at, at + timedelta(seconds=0 if text[16] == ":" else 59) if "T" in text else after - timedelta(seconds=1)
def when(text):
    start, _, end = text.rpartition("/")
    need(point(end) and (start in ("", "..") or point(start)[0] <= point(end)[1]))
MORE = {"text": lambda text: need(is_normalized("NFC", text)), "day": point, "utc": point, "when": when,
        "zone": lambda text: need(text in available_timezones())}  # what no pattern can say
def fits(value, kind):
    if len(either := re.split(r"\|(?![^\[{]*[\]}])", kind)) > 1: return any(fits(value, one) for one in either)  # a bar outside of brackets
    if many := re.fullmatch(r"\[(.*)\](\+|\*2)?", kind):
        enough = {None: lambda n: True, "+": lambda n: n > 0, "*2": lambda n: n == 2}[many[2]]
        return isinstance(value, list) and enough(len(value)) and all(fits(item, many[1]) for item in value)
    if pairs := re.fullmatch(r"\{(\w+):(.*)\}", kind):
        return isinstance(value, dict) and all(fits(k, pairs[1]) and fits(v, pairs[2]) for k, v in value.items())
    if ends := re.fullmatch(r"(-?\d+)\.\.(\d*)", kind): return type(value) is int and int(ends[1]) <= value <= int(ends[2] or 2**53)
    if kind in FIELDS:
        named = [re.fullmatch(r"(\w+)(\??):(.*)", field).groups() for field in FIELDS[kind].split()]
        return isinstance(value, dict) and value.keys() <= {name for name, _, _ in named} and all(
            (may and value.get(name) is None) or (name in value and fits(value[name], of)) for name, may, of in named)
    whole = re.fullmatch(TYPES.get(kind, kind), canonical(value))  # a type's pattern is that of its canonical JSON
    return bool(whole) and word(MORE.get(kind, repr), value) != "changed"
def ordered(of, *ends): return None in map(of.get, ends) or of[ends[0]] <= of[ends[1]]
def apart(of, rows, name): return len({row[name] for row in of.get(rows) or []}) == len(of.get(rows) or [])
BEYOND = {
    "rule": lambda b: ordered(b, "applies_from", "applies_to") and ordered(b, "from_days", "days"),
    "ownership": lambda b: ordered(b, "from", "to"),
    "rig": lambda b: all(ordered(place, "since", "until") for place in b["zones"]),
    "inspection": lambda b: apart(b, "zones", "zone") and apart(b, "rechecks", "finding"),
    "handover": lambda b: apart(b, "zones", "zone") and apart(b, "defects", "finding") and
        {row["over"] for row in b["signatures"]} <= {sha(b["statement"].encode()).hex()},
    "correction": lambda b: (b.get("set") is None, b.get("withdraw")) in ((False, None), (True, True)),
}
def link_of(line):
    entry = plain(line)
    need(canonical(entry).encode() == line and fits(entry, "link"))
    return Bunch(**entry, line=line)
def entry_of(line):
    entry = link_of(line)
    need(fits(plain(line), "entry") and entry.kind in FIELDS.keys() - {"entry", "link", "rehash"} and entry.kind.islower())
    need(fits(entry.body, entry.kind) and BEYOND.get(entry.kind, dict.copy)(entry.body) is not False)
    return entry

# § 4 The tree
def node(left, right): return sha(b"\1", left, right)
def roots(lines):  # over the first 0, 1, 2 … of them
    peaks, found = [], [sha()]
    for count, line in enumerate(lines):
        peaks.append(sha(b"\0", line))
        while count & 1: peaks[-2:], count = [node(*peaks[-2:])], count >> 1  # the carries of adding 1
        found.append(reduce(lambda right, left: node(left, right), reversed(peaks)))
    return found
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
    need(divider and lines.endswith("\n") and len(whole.encode()) <= 10**6 and not re.search(r"[\x00-\x09\x0b-\x1f]", text))
    rows = re.findall("(?m)^\u2014 ([^\\s+\0-\x1f]+) (\\S+)$", lines)
    need(len(rows) == lines.count("\n") <= 100 and all(len(unbase64(code)) > 4 for _, code in rows))
    return Bunch(text=text + "\n", whole=whole, signed=[(name, unbase64(code)[:4], unbase64(code)[4:]) for name, code in rows])
def head_of(whole):
    origin, size, root, end = (note := note_of(whole)).text.split("\n")
    need(origin and re.fullmatch("0|[1-9][0-9]{0,17}", size) and not end and len(unbase64(root)) == 32)
    return Bunch(note=note, origin=origin, size=int(size), root=unbase64(root))
def key_of(vkey, kind):  # name, key ID, 32 bytes
    name, key_id, code = re.fullmatch(r"([^\s+\0-\x1f]+)\+([0-9a-f]{8})\+(.+)", vkey).groups()
    blob = unbase64(code)
    need(len(blob) == 33 and blob[0] == kind and sha(name.encode(), b"\n", blob)[:4].hex() == key_id)
    need((blob[1:-1] + bytes([blob[-1] & 127])).hex() not in listed("low-order"))
    return name, bytes.fromhex(key_id), blob[1:]
def keys_of(entries, use, ever=False):  # those that can be read: name, key ID, 32 bytes, party
    ring, kind = {}, {"log": 1, "cosign": 4}[use]
    for body in (e.body for e in entries if e.kind == "key" and e.body["use"] == use):
        if body["event"] == "added": ring[body["key"]] = body["party"]
        elif not ever: ring.pop(body["key"], None)
    return [(*key_of(key, kind), party) for key, party in ring.items() if word(key_of, key, kind) != "changed"]
def opened(note, keys, pure=lambda text, signature: (text, signature)):
    found = [(key, line[2]) for line in note.signed for key in keys if key[:2] == line[:2]]
    for key, signature in found:
        text, signature = pure(note.text, signature)
        Ed25519PublicKey.from_public_bytes(key[2]).verify(signature, text.encode())
    return need(found) or found

# § 6 Outsiders
OIDS = {bytes.fromhex(code): name for name, code in listed("oids").items()}
HASHES = {"sha256": hashes.SHA256(), "sha384": hashes.SHA384(), "sha512": hashes.SHA512()}
def der(data):  # the elements that lie side by side
    found, at = [], 0
    while at < len(data):
        size, body = data[at + 1], at + 2
        if size > 127:
            body, size = body + size - 128, int.from_bytes(data[at + 2:body + size - 128], "big")
            need(size > 127 and data[at + 2])
        need(data[at] & 31 != 31 and body + size <= len(data))
        found.append(Bunch(tag=data[at], body=data[body:body + size], raw=data[at:body + size]))
        at = body + size
    return found
def inside(element, *path): return inside(der(element.body)[path[0]], *path[1:]) if path else der(element.body)
def oid(element): return OIDS.get(element.body, "")
def stamped(answer, note):  # RFC 3161: time and name
    status, token = inside(*der(answer))
    _, _, stated, *held, signers = inside(token, 1, 0)
    (signer,), (info,) = inside(signers), inside(stated, 1)
    need(len(answer) <= 10**6 and inside(status)[0].body in (b"\0", b"\1") and oid(inside(token)[0]) == "signed-data")
    _, _, imprint, _, moment, *_ = inside(der(info.body)[0])
    need(inside(imprint)[1].body == hashlib.new(oid(inside(imprint, 0)[0]), note.encode()).digest())
    _, who, way, attributes, scheme, signature, *_ = inside(signer)
    kind, scheme = oid(inside(way)[0]), oid(inside(scheme)[0])
    told = {oid(inside(row)[0]): inside(row, 1)[0] for row in inside(attributes)}
    need(oid(told["content-type"]) == oid(inside(stated)[0]) == "tst-info" and kind in HASHES)
    need(told["message-digest"].body == hashlib.new(kind, info.body).digest())
    (issuer, serial), bags = inside(who), [inside(row) for row in held if row.tag == 0xA0]
    (one,) = [c for c in (load_der_x509_certificate(row.raw) for bag in bags for row in bag)
              if c.issuer.public_bytes() == issuer.raw and c.serial_number == int.from_bytes(serial.body, "big")]
    newer = "signing-certificate-v2" in told
    parts = inside(told["signing-certificate-v2" if newer else "signing-certificate"], 0, 0)
    by = oid(inside(parts[0])[0]) if parts[0].tag == 0x30 else "sha256" if newer else "sha1"
    need(hashlib.new(by, one.public_bytes(Encoding.DER)).digest() in [part.body for part in parts if part.tag == 4])
    if scheme not in (f"ecdsa-{kind}", f"rsa-{kind}", "rsa"): raise Told("not-checked")
    ways = [ec.ECDSA(HASHES[kind])] if scheme[0] == "e" else [padding.PKCS1v15(), HASHES[kind]]
    one.public_key().verify(signature.body, b"\x31" + attributes.raw[1:], *ways)
    usage = one.extensions.get_extension_for_class(ExtendedKeyUsage)
    need(usage.critical and [use.dotted_string for use in usage.value] == ["1.3.6.1.5.5.7.3.8"])
    at = datetime.strptime(moment.body[:14].decode(), "%Y%m%d%H%M%S").replace(tzinfo=UTC)
    need(one.not_valid_before_utc <= at <= one.not_valid_after_utc)
    names = [next((a.value for a in one.subject if a.rfc4514_attribute_name == x), "") for x in ("O", "CN")]
    return {(at, f"{names[0]} ({names[1]})" if all(names) else "".join(names))}
def cosigned(answer, head, ahead):
    def pure(text, signature):
        seconds = int.from_bytes(signature[:8], "big")
        return need(0 < seconds <= 253402300799) or (f"cosignature/v1\ntime {seconds}\n{text}", signature[8:])
    note, own = note_of(answer.decode()), {key[2] for key in keys_of(ahead, "log", ever=True)}
    lines = opened(note, [key for key in keys_of(ahead, "cosign") if key[2] not in own], pure)
    names = {e.body["id"]: e.body["name"] for e in ahead if e.kind == "party"}
    first = {key: min(line[:8] for other, line in lines if other == key) for key, _ in lines}
    return need(note.text == head.note.text) or {(datetime.fromtimestamp(int.from_bytes(time, "big"), UTC),
        f"{names.get(key[3], key[3])} ({key[0]})") for key, time in first.items()}

# §§ 8 to 11 Cases, packs, attachments
def material(path):
    if (path / "ledger.sqlite").is_file():
        files = {f"original-{one.name}": one.read_bytes() for one in (path / "originals").iterdir()}
        return Bunch(target="case", files=files, damaged=set(), read=lambda: ledger(path / "ledger.sqlite"))
    if path.is_dir(): files, damaged = {one.name: one.read_bytes() for one in path.iterdir()}, set()
    elif word(unzipped, path.read_bytes()) == "changed": raise Told("refused")
    else: files, damaged = unzipped(path.read_bytes())
    return Bunch(target="dossier" if path.is_dir() else "pack", files=files, damaged=damaged, read=lambda: filed(files))
def ledger(path):
    objects = "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY type, name"
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as base, closing(sqlite3.connect(":memory:")) as own:
        own.executescript(block("sql"))
        need(base.execute(objects).fetchall() == own.execute(objects).fetchall())
        need(base.execute("PRAGMA integrity_check").fetchall() == [("ok",)])
        return [[row[0] for row in base.execute(select)] for select in (
            "SELECT bytes FROM entries ORDER BY seq", "SELECT note FROM heads ORDER BY size")]
def filed(files):
    lines, text = files["record.jsonl"], files["heads.txt"].decode()
    notes = re.findall(r"(?s)(.*?\n\n.*?\n)\n", text)
    need(lines[-1:] in (b"\n", b"") and "".join(f"{note}\n" for note in notes) == text)
    return lines.split(b"\n")[:-1], notes
def unzipped(data):  # made again from what its directory says, and compared
    files, damaged, whole, rows = {}, set(), b"", b""
    at = begin = int.from_bytes(data[-6:-2], "little")
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
    need(data == whole + rows + struct.pack("<4s4H2LH", b"PK\5\6", 0, 0, len(names), len(names), len(rows), len(whole), 0))
    return files, damaged

# § 13 The steps
def entries(m):
    m.cut = plain(m.files["proofs.json"]) if m.target == "pack" and "proofs.json" in (*m.files, *m.damaged) else None
    need(m.cut is None or fits(m.cut, "Proofs"))
    m.lines, m.notes = m.read()
    m.size, m.entries = m.cut["size"] if m.cut else len(m.lines), [entry_of(line) for line in m.lines]
    places = [entry.seq for entry in m.entries]
    need(sorted({*places, 0}) == places and places[-1] < m.size and [e.seq for e in m.entries if e.kind == "case"] == [0])
    return "missing" if len(places) < m.size else None
def chain(m):
    before, numbers = Bunch(seq=-1, prev="", line=None, logged=""), {}
    for place, link in enumerate(map(link_of, m.lines)):
        (nth, gone), absent = numbers.get(link.kind, (0, 0)), link.seq - place
        need(1 <= link.nth - nth <= 1 + absent - gone and (m.cut or not absent))
        if link.seq == before.seq + 1:
            need(link.prev == (sha(before.line).hex() if place else "0" * 64))
            need(link.kind == "clock" or link.logged >= before.logged)
        before, numbers[link.kind] = link, (link.nth, absent)
def heads(m):
    m.heads, over, wrong = [], None if m.cut else roots(m.lines), []
    for note in m.notes:
        if word(head_of, note) == "changed": wrong.append(note)
        else:
            head, last = head_of(note), max([one.size for one in m.heads], default=0)
            due = head.origin == f"roof-evidence/{m.entries[0].body['case_id']}" and head.size > last
            due = due and (m.cut or (head.size <= m.size and head.root == over[head.size]))
            wrong += [] if due else [note]
            m.heads += [head] if due or not m.cut else []
    need(not wrong and m.heads[-1].size == m.size)
    if m.cut:
        (*earlier, newest), rows = m.heads, m.cut["inclusion"]
        need([row["seq"] for row in rows] == [e.seq for e in m.entries])
        need([row["size"] for row in m.cut["consistency"]] == [head.size for head in earlier])
        for row, line in zip(rows, m.lines): need(included(row["seq"], m.size, sha(b"\0", line), nodes(row)) == newest.root)
        for row, head in zip(m.cut["consistency"], earlier):
            need(continued(head.size, m.size, head.root, nodes(row)) == (head.root, newest.root))
def nodes(row): return [bytes.fromhex(one) for one in row["proof"]]
def keys(m):
    founding, held = [e.seq for place, e in enumerate(m.entries) if e.seq != place or e.kind not in ("case", "key")], 0
    for head in m.heads:
        least = founding[0] if founding else m.size
        opened(head.note, keys_of([e for e in m.entries if e.seq < max(held, least)], "log"))
        held = max(held, head.size)
    numbers = [e.nth for e in m.entries if e.kind == "key"]
    return None if numbers == [*range(1, len(numbers) + 1)] else "not-checked"
def at_hand(m, digest):
    named = [name for name in m.files if name.startswith(f"original-{digest}.") and m.target != "dossier"]
    summed = [name for name in m.files if m.sums[name] == digest and (m.target == "dossier" or name.startswith("witness-"))]
    return m.files.get((named + summed + [None])[0])
def answer(m, e):
    head, held = next(head for head in m.heads if head.size == e.body["size"]), 2 if e.body["type"] == "letter" else 1
    need(head.root.hex() == e.body["root"] and head.size <= e.seq)
    files = [at_hand(m, ref["sha256"]) for ref in e.files[:held]]
    if None in files or len(files) < held: raise Told("missing")
    if held == 2: raise Told("not-checked")
    told = cosigned(files[0], head, m.entries[:m.entries.index(e)]) if e.body["type"] == "cosign" else stamped(files[0], head.note.whole)
    at = point(e.body["time"])[0]
    need((at, e.body["name"]) in told)
    if at > point(e.logged)[0] + timedelta(minutes=10): return "named"
    m.verified.append(e)
def witnesses(m):
    m.verified = []
    m.told = {word(answer, m, e) for e in m.entries if e.kind == "witness"}
    return next((one for one in ("changed", "missing", "not-checked", "named") if one in m.told), None)
def brackets(m):
    if "not-checked" in m.told or any(ref.get("card") for e in m.entries for ref in e.files): return "not-checked"
    early = [e for e in m.entries for w in m.verified if w.seq < e.seq and e.logged < w.body["time"]]
    late = [e for e in m.entries for w in m.verified if w.body["size"] > e.seq and e.logged > w.body["time"]]
    back = [e for before, e in pairwise(m.entries) if e.logged < before.logged]
    return "named" if early or late or back or not m.verified else None
def originals(m):
    left = plain(m.files["manifest.json"]).get("left_out") or [] if m.target != "case" else []
    left, refs = [row.get("sha256") for row in left if isinstance(row, dict)], [ref for e in m.entries for ref in e.files]
    gone = []
    for ref in refs:
        data = at_hand(m, ref["sha256"])
        need(data is None or (hashlib.sha256(data).hexdigest(), len(data)) == (ref["sha256"], ref["bytes"]))
        need(data is not None or not any(name.startswith(f"original-{ref['sha256']}.") for name in (*m.files, *m.damaged)))
        gone += [ref] if data is None and ref["sha256"] not in left else []
    held = [m.sums[name] if m.target == "dossier" else name[9:].partition(".")[0] for name in m.files if name[:9] == "original-"]
    return "missing" if gone else "named" if {*held} - {ref["sha256"] for ref in refs} else None
def manifest(m):
    rows = {name: {"sha256": m.sums[name], "bytes": len(data)} for name, data in m.files.items() if name != "manifest.json"}
    need(plain(m.files["manifest.json"])["files"] == rows and not m.damaged)
def seals(value, *path):
    if fits(value, "Sealed"): return {".".join(path): value["sealed"]}
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return {field: held for name, one in inner for field, held in seals(one, *path, str(name)).items()}
def sealed(m):
    known = {(e.seq, field): held for e in m.entries for field, held in seals(e.body).items()}
    if "revealed.json" not in (*m.files, *m.damaged): return "not-checked" if known else None
    rows = plain(m.files["revealed.json"])
    need(fits(rows, "[Revealed]") and len({(row["seq"], row["field"]) for row in rows}) == len(rows))
    for row in rows:
        need(known[row["seq"], row["field"]] == sha(bytes.fromhex(row["salt"]), canonical(row["value"]).encode()).hex())
def check(path):
    """The result, and the word of every step from 1 to 8."""
    m, found = material(Path(path)), dict.fromkeys(range(1, 9), "not-checked")
    m.lines, m.sums = None, {name: sha(data).hex() for name, data in m.files.items()}
    found[1] = word(entries, m)
    if m.lines is not None and (found[1] != "changed" or not m.cut): found[2] = word(chain, m)
    if found[1] in ("ok", "missing"):
        for n, step in enumerate((heads, keys, witnesses, brackets, originals, sealed), 3): found[n] = word(step, m)
    if m.target == "pack" or (m.target == "dossier" and m.lines is not None): found[7] = found[7] if word(manifest, m) == "ok" else "changed"
    words = [*found.values()]
    return "changed" if "changed" in words else "incomplete" if "missing" in words else "unchanged", found
if __name__ == "__main__":
    result, found = check(sys.argv[1])
    print(*(f"{n} {said}" for n, said in (found | {9: "not-checked", 10: "not-checked"}).items()), result, sep="\n")
    sys.exit({"unchanged": 0, "incomplete": 3, "changed": 4}[result])
