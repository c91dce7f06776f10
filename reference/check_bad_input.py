"""Does bad input end in one clear message, quickly and in little memory?

Makes broken, hostile and missing files and surveys each. Every one must end with
a status other than 0, a message of a few lines on stderr that names the file, nothing on stdout,
no panic, in under 1 s and under 300 MB. A few odd but legal files must be read.

Source: the issue's limits; CWE-409 (zip bomb), CWE-776 (entity expansion),
CWE-22 (path traversal), CWE-674 (uncontrolled recursion).
"""

import io
import json
import re
import struct
import sys
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import foreread

SECONDS, MEGABYTES, LINES = 1.0, 300.0, 8
CONTAINER = (
    '<?xml version="1.0"?><container><rootfiles>'
    '<rootfile full-path="{0}" media-type="application/vnd.recordare.musicxml+xml"/></rootfiles></container>'
)
BAR = (
    '<measure number="{0}"><attributes><divisions>1</divisions><key><fifths>0</fifths></key>'
    "<time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>"
    "<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note></measure>"
)
SCORE = (
    '<?xml version="1.0" encoding="{1}"?>\n<score-partwise version="4.0"><part-list><score-part id="P1">'
    "<part-name>Flute</part-name></score-part></part-list><part id=\"P1\">{0}</part></score-partwise>"
)
GOOD = SCORE.format(BAR.format(1), "UTF-8")


def mxl(entries: list[tuple[str, bytes]], container: str | None) -> bytes:
    """A compressed score with these entries."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        if container is not None:
            archive.writestr("META-INF/container.xml", CONTAINER.format(container))
        for name, content in entries:
            archive.writestr(name, content)
    return out.getvalue()


def zip_bomb() -> bytes:
    """A 1 MB archive whose score claims to be 1 GiB of XML comment."""
    squeeze = zlib.compressobj(9, zlib.DEFLATED, -15)
    head, block = GOOD.encode()[:60] + b"<!--", b" " * (1 << 20)
    body = squeeze.compress(head)
    check, size = zlib.crc32(head), len(head)
    for _ in range(1024):
        body += squeeze.compress(block)
        check, size = zlib.crc32(block, check), size + len(block)
    body += squeeze.flush()
    return one_entry_zip(b"score.xml", body, check, size)


def one_entry_zip(name: bytes, body: bytes, check: int, size: int) -> bytes:
    """An archive of container.xml and one ready-made deflated entry."""
    parts, directory = b"", b""
    plain = CONTAINER.format(name.decode()).encode()
    entries = ((b"META-INF/container.xml", plain, zlib.crc32(plain), len(plain), 0), (name, body, check, size, 8))
    for entry, data, crc, full, method in entries:
        fields = struct.pack("<HHHHHIIIHH", 20, 0, method, 0, 33, crc, len(data), full, len(entry), 0)
        directory += b"PK\1\2" + struct.pack("<H", 20) + fields + struct.pack("<HHHII", 0, 0, 0, 0, len(parts)) + entry
        parts += b"PK\3\4" + fields + entry + data
    end = struct.pack("<HHHHIIH", 0, 0, 2, 2, len(directory), len(parts), 0)
    return parts + directory + b"PK\5\6" + end


def lying_size() -> bytes:
    """An entry that claims 10 bytes and unpacks to 400 MB."""
    squeeze = zlib.compressobj(9, zlib.DEFLATED, -15)
    body = b"".join(squeeze.compress(b"<" * (1 << 20)) for _ in range(400)) + squeeze.flush()
    return one_entry_zip(b"score.xml", body, 0, 10)


def entity_bomb() -> bytes:
    """Ten entities, each ten of the one before: a billion laughs."""
    names = [f"l{i}" for i in range(10)]
    lines = ['<!ENTITY l0 "lol">'] + [
        f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in zip(names, names[1:])
    ]
    return (
        '<?xml version="1.0"?>\n<!DOCTYPE score-partwise [' + "".join(lines) + "]>\n"
        "<score-partwise><movement-title>&l9;</movement-title></score-partwise>"
    ).encode()


def quadratic_entity() -> bytes:
    """One long entity used very often."""
    return (
        '<?xml version="1.0"?>\n<!DOCTYPE score-partwise [<!ENTITY a "' + "a" * 50_000 + '">]>\n'
        "<score-partwise><movement-title>" + "&a;" * 50_000 + "</movement-title></score-partwise>"
    ).encode()


def external_entity() -> bytes:
    return (
        '<?xml version="1.0"?>\n<!DOCTYPE score-partwise [<!ENTITY x SYSTEM "file:///etc/passwd">]>\n'
        "<score-partwise><movement-title>&x;</movement-title></score-partwise>"
    ).encode()


def deep(levels: int) -> bytes:
    return GOOD.replace("<note>", "<x>" * levels + "</x>" * levels + "<note>").encode()


def deep_open(levels: int) -> bytes:
    return b'<?xml version="1.0"?><score-partwise>' + b"<part>" * levels


def huge() -> bytes:
    """A 200 MB score: well-formed, and too large."""
    bars = (BAR.format(1) * 700_000)
    text = SCORE.format(bars, "UTF-8")
    return text.encode()[: 200 * 1024 * 1024]


# name, file name, how to make its bytes (None: don't make it)
BAD: list[tuple[str, str, Callable[[], bytes] | None]] = [
    ("no such file", "missing.musicxml", None),
    ("empty file", "empty.musicxml", lambda: b""),
    ("empty mxl", "empty.mxl", lambda: b""),
    ("only spaces", "spaces.musicxml", lambda: b" \n\t \n"),
    ("truncated in a tag", "cut.musicxml", lambda: GOOD.encode()[: len(GOOD) // 2]),
    ("truncated after the header", "header.musicxml", lambda: GOOD.encode()[:80]),
    ("wrong bytes", "bytes.musicxml", lambda: bytes(range(256)) * 64),
    ("a PNG", "picture.musicxml", lambda: b"\x89PNG\r\n\x1a\n" + bytes(500)),
    ("plain text", "words.musicxml", lambda: b"Dear teacher, here is the piece.\n"),
    ("HTML", "page.musicxml", lambda: b"<!DOCTYPE html><html><body><p>404</p></body></html>"),
    ("another XML", "other.musicxml", lambda: b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>'),
    ("mismatched tags", "tags.musicxml", lambda: GOOD.replace("</note>", "</nope>").encode()),
    ("score without parts", "noparts.musicxml", lambda: b'<?xml version="1.0"?><score-partwise><part-list/></score-partwise>'),
    ("zip bomb", "bomb.mxl", zip_bomb),
    ("zip entry that lies about its size", "liar.mxl", lying_size),
    ("zip without container", "nocontainer.mxl", lambda: mxl([("notes.txt", b"nothing")], None)),
    ("container names itself", "itself.mxl", lambda: mxl([], "META-INF/container.xml")),
    ("truncated zip", "cut.mxl", lambda: mxl([("score.xml", GOOD.encode() * 50)], "score.xml")[:300]),
    ("zip with a broken entry", "broken.mxl", lambda: broken(mxl([("score.xml", GOOD.encode() * 9)], "score.xml"))),
    ("not a zip", "text.mxl", lambda: b"this is no archive"),
    ("zip in a zip", "nested.mxl", lambda: mxl([("score.xml", mxl([("a", b"b")], None))], "score.xml")),
    ("billion laughs", "laughs.musicxml", entity_bomb),
    ("quadratic entity", "quadratic.musicxml", quadratic_entity),
    ("100,000 nested elements, never closed", "deep.musicxml", lambda: deep_open(100_000)),
    ("200 MB", "huge.musicxml", huge),
    ("one tag of 20 MB", "tag.musicxml", lambda: b'<?xml version="1.0"?><score-partwise a="' + b"x" * 20_000_000),
]

# Odd, but a good reader reads them (or says clearly why not): a survey or one clear message. A repair is
# never silent: what SAID names must stand in the findings.
SAID = {"lost.mxl": "container|archive|names", "outside.mxl": "container|archive|names", "nul.musicxml": "character|NUL|byte"}
ODD: list[tuple[str, str, Callable[[], bytes]]] = [
    ("NUL bytes", "nul.musicxml", lambda: GOOD.encode().replace(b"Flute", b"\0\0\0\0\0")),
    ("container names a missing file", "lost.mxl", lambda: mxl([("score.xml", GOOD.encode())], "gone.xml")),
    ("container points outside", "outside.mxl", lambda: mxl([("a.xml", GOOD.encode())], "../../../../etc/passwd")),
    ("UTF-16 with mark", "utf16.musicxml", lambda: SCORE.format(BAR.format(1), "UTF-16").encode("utf-16")),
    ("UTF-16 without mark", "utf16le.musicxml", lambda: SCORE.format(BAR.format(1), "UTF-16").encode("utf-16-le")),
    ("UTF-16BE without mark", "utf16be.musicxml", lambda: SCORE.format(BAR.format(1), "UTF-16").encode("utf-16-be")),
    ("UTF-8 with mark", "bom.musicxml", lambda: b"\xef\xbb\xbf" + GOOD.encode()),
    ("not UTF-8 inside", "latin.musicxml", lambda: GOOD.replace("Flute", "Fl\udcffte").encode("utf-8", "surrogateescape")),
    ("external entity", "external.musicxml", external_entity),
    ("Latin-1", "latin1.musicxml", lambda: SCORE.format(BAR.format(1), "ISO-8859-1").replace("Flute", "Flûte").encode("latin-1")),
    ("100,000 nested elements", "nested.musicxml", lambda: deep(100_000)),
    ("no bars", "nobars.musicxml", lambda: SCORE.format("", "UTF-8").encode()),
    ("mxl with the wrong suffix", "zipped.musicxml", lambda: mxl([("score.xml", GOOD.encode())], "score.xml")),
    ("score with mxl's suffix", "plain.mxl", lambda: GOOD.encode()),
    ("divisions of zero", "zero.musicxml", lambda: GOOD.replace("<divisions>1<", "<divisions>0<").encode()),
    ("divisions beyond any integer", "big.musicxml", lambda: GOOD.replace("<divisions>1<", f"<divisions>{10**40}<").encode()),
    ("negative duration", "negative.musicxml", lambda: GOOD.replace("<duration>4<", "<duration>-4<").encode()),
    ("huge duration", "long.musicxml", lambda: GOOD.replace("<duration>4<", "<duration>9223372036854775807<").encode()),
    ("words for numbers", "words2.musicxml", lambda: GOOD.replace("<octave>4<", "<octave>four<").replace("<beats>4<", "<beats>x<").encode()),
    ("octave 99", "octave.musicxml", lambda: GOOD.replace("<octave>4<", "<octave>99<").encode()),
    ("fifths 1000000", "fifths.musicxml", lambda: GOOD.replace("<fifths>0<", "<fifths>1000000<").encode()),
    ("metre 4/0", "metre.musicxml", lambda: GOOD.replace("<beat-type>4<", "<beat-type>0<").encode()),
    ("part not in the list", "unlisted.musicxml", lambda: GOOD.replace('<part id="P1">', '<part id="P9">').encode()),
    ("repeat a million times", "times.musicxml", lambda: GOOD.replace("</measure>", '<barline location="right"><repeat direction="backward" times="1000000000"/></barline></measure>').encode()),
    ("multiple rest of a million bars", "rests.musicxml", lambda: GOOD.replace("<clef>", "<measure-style><multiple-rest>1000000000</multiple-rest></measure-style><clef>").encode()),
]


def broken(archive: bytes) -> bytes:
    """Flip bytes in the middle of the compressed data."""
    middle = len(archive) // 2
    return archive[:middle] + bytes(b ^ 0x5A for b in archive[middle : middle + 12]) + archive[middle + 12 :]


def faults(done: foreread.Run, name: str, must_fail: bool) -> list[str]:
    """What is wrong with how this run ended."""
    found = []
    if done.panicked:
        found.append("panicked")
    if done.timed_out:
        found.append("never ended")
    if done.seconds > SECONDS:
        found.append(f"{done.seconds:.2f} s")
    if done.rss_kib / 1024 > MEGABYTES:
        found.append(f"{done.rss_kib / 1024:.0f} MB")
    failed = done.status != 0
    if must_fail and not failed:
        found.append("exit status 0")
    if failed:
        if name not in done.err:
            found.append("the message doesn't name the file")
        if len(done.err.strip().splitlines()) > LINES:
            found.append(f"{len(done.err.strip().splitlines())} lines of message")
        if done.out.strip():
            found.append("something on stdout")
    else:
        try:
            said = json.dumps(done.json().get("reader_findings"), ensure_ascii=False)
        except ValueError:
            found.append("exit status 0, but no JSON")
        else:
            if name in SAID and not re.search(SAID[name], said, re.I):
                found.append("repaired without a finding")
    return found


def main() -> int:
    wrong, total = 0, 0
    folder = foreread.scratch("bad")
    folder.mkdir()
    cases = [(*case, True) for case in BAD] + [(*case, False) for case in ODD]
    for title, name, make, must_fail in cases:
        path = folder / name
        if make is not None:
            path.write_bytes(make())
        wrong += judge(title, path, must_fail)
        total += 1
        path.unlink(missing_ok=True)
    (folder / "a folder").mkdir()
    (folder / "folder.musicxml").mkdir()
    for title, path in (("a directory", folder / "a folder"), ("a directory named as a score", folder / "folder.musicxml"),
                        ("a device that never ends", Path("/dev/zero"))):
        wrong += judge(title, path, True)
        total += 1
    good = folder / "good.musicxml"
    good.write_text(GOOD, encoding="utf-8")
    for title, arguments in (("no such part", ["--part", "7"]), ("no such part by name", ["--part", "Tuba"]),
                             ("no such question", ["--questions", "colour"]), ("no such format", ["--as", "smoke"])):
        done = foreread.run(["survey", str(good), *arguments])
        if done.status == 0 or done.panicked or not done.err.strip():
            print(f"  WRONG {title}: exit status {done.status}, {done.err.strip()[:200]!r}")
            wrong += 1
        total += 1
    print(f"{total - wrong} of {total} bad or odd inputs end as they should")
    return 1 if wrong else 0


def judge(title: str, path: Path, must_fail: bool) -> int:
    done = foreread.survey_run(path)
    found = faults(done, path.name, must_fail)
    if "root:" in done.out + done.err:
        found.append("it read a file that the score merely named")
    if "-v" in sys.argv:
        print(f"  {title}: status {done.status}, {done.seconds:.2f} s, {done.rss_kib / 1024:.0f} MB: {done.err.strip()[:200]}")
    if found:
        print(f"  WRONG {title} ({path.name}): {', '.join(found)}; it said {done.err.strip()[:300]!r}")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
