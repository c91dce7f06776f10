"""A client of the press, for drawing layers with it: the letters of `crates/job`, written again from its description.

One letter: `FRL1`, the head's length and the number of blobs (u32, little endian), each blob's length (u64), the head as JSON, the
blobs.
"""

import json
import os
import struct
import subprocess
from pathlib import Path

import foreread


def path() -> str:
    """The press: as told, else beside the program under test, else in the build folder beside it."""
    if given := os.environ.get("FOREREAD_PRESS"):
        return given
    folder = Path(foreread.binary()).parent
    for place in (folder / "foreread-press", folder.parent / "press" / "release" / "foreread-press"):
        if place.exists():
            return str(place)
    raise SystemExit("no press: build it as README.md says, or set FOREREAD_PRESS")


class Press:
    """One running press."""

    def __init__(self):
        self.child = subprocess.Popen([path()], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)

    def ask(self, head, blobs: list[bytes]) -> tuple[object, list[bytes]]:
        """Sends a letter and reads the answer."""
        text = json.dumps(head).encode()
        out = b"FRL1" + struct.pack("<II", len(text), len(blobs)) + b"".join(struct.pack("<Q", len(blob)) for blob in blobs)
        self.child.stdin.write(out + text + b"".join(blobs))
        self.child.stdin.flush()
        if self._read(4) != b"FRL1":
            raise RuntimeError("the press answered something else than a letter")
        length, count = struct.unpack("<II", self._read(8))
        lengths = struct.unpack(f"<{count}Q", self._read(8 * count))
        answer = json.loads(self._read(length))
        return answer, [self._read(length) for length in lengths]

    def pdf(self, pages: list[tuple[str, float, float]]) -> bytes:
        """A PDF of pages: SVG, width and height in millimetres."""
        head = {"Pdf": {"sizes_mm": [page[1:] for page in pages], "title": "", "author": "", "language": "en"}}
        answer, blobs = self.ask(head, [page[0].encode() for page in pages])
        if "Pdf" not in answer:
            raise RuntimeError(str(answer))
        return blobs[0]

    def _read(self, length: int) -> bytes:
        data = self.child.stdout.read(length)
        if len(data) != length:
            raise RuntimeError("the press is gone")
        return data

    def close(self):
        """Lets it go."""
        self.child.stdin.close()
        self.child.wait(20)
