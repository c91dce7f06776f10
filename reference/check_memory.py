"""How much memory and time does a file of any standard take, whatever its size?

Writes files of bare notes (the most notes that a byte can hold) in five standards and of several sizes, surveys
each whole and checks: peak memory under 20 times the file's size plus 64 MB, and CPU time per byte at the largest size
that is read no more than 1.5 times that at a quarter of it. A file over a reader's own limits must be refused in words.

Source: the issue's limits; memory and time measured by the kernel (see launcher.py).
"""

import struct
import sys
from statistics import median

import check_growth
import foreread

SIZES = (0.02, 0.06, 0.17, 0.25, 1.2, 4.8)
TIMES, PLUS_MB, GROWTH, RUNS = 20, 64, 1.5, 3
LETTERS = "CDEFGABcdefgab"


def abc(size: int) -> bytes:
    """One tune, sixteen eighth notes to two bars."""
    line = "".join(("|" if i % 8 == 0 else "") + LETTERS[(i * 5 + i // 7) % 14] for i in range(16)) + "\n"
    return ("X:1\nT:Long\nM:4/4\nL:1/8\nK:C\n" + line * (size // len(line))).encode()


def kern(size: int) -> bytes:
    """One spine, eight notes to a bar."""
    bars, length, number = ["**kern", "*clefG2", "*k[]", "*M4/4"], 40, 0
    while length < size:
        number += 1
        bar = [f"={number}"] + ["8" + "cdefgab"[(number * 5 + i) % 7] for i in range(8)]
        bars += bar
        length += sum(len(line) + 1 for line in bar)
    return ("\n".join(bars) + "\n==\n*-\n").encode()


def mei(size: int) -> bytes:
    """One staff, eight notes to a measure, as short as the standard allows."""
    head = ('<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><music><body><mdiv><score><scoreDef meter.count="4" '
            'meter.unit="4"><staffGrp><staffDef n="1" lines="5" clef.shape="G" clef.line="2"/></staffGrp></scoreDef><section>')
    made, length, number = [], 0, 0
    while length < size:
        number += 1
        notes = "".join(f'<note pname="{"cdefgab"[(number * 5 + i) % 7]}" oct="4" dur="8"/>' for i in range(8))
        made.append(f'<measure n="{number}"><staff n="1"><layer n="1">{notes}</layer></staff></measure>')
        length += len(made[-1])
    return (head + "".join(made) + "</section></score></mdiv></body></music></mei>").encode()


def musicxml(size: int) -> bytes:
    """One part without marks."""
    whole = check_growth.score(max(1, size // 560))
    return whole.encode()


def midi(size: int) -> bytes:
    """One track with running status: six bytes a note."""
    events = bytearray(b"\x00\x90")
    for i in range(size // 6):
        key = 60 + (i * 5 + i // 7) % 14
        events += (b"\x00" if i else b"") + bytes([key, 64, 48, key, 0])
    events += b"\x00\xff\x2f\x00"
    return b"MThd" + struct.pack(">IHHH", 6, 0, 1, 96) + b"MTrk" + struct.pack(">I", len(events)) + bytes(events)


STANDARDS = {"abc": abc, "krn": kern, "mei": mei, "musicxml": musicxml, "mid": midi}


def main() -> int:
    worst = []
    for ending, make in STANDARDS.items():
        read: dict[int, float] = {}
        for megabytes in SIZES:
            data = make(int(megabytes * 1e6))
            path = foreread.scratch(f"long.{ending}")
            path.write_bytes(data)
            runs = [foreread.run(["survey", str(path), "--as", "json"]) for _ in range(RUNS)]
            peak, allowed = max(r.rss_kib for r in runs) / 1024, TIMES * len(data) / 1e6 + PLUS_MB
            done = runs[0]
            if done.panicked or done.timed_out:
                worst.append(f"{ending} of {len(data)} bytes: {done.err.strip()[:200]}")
            if peak > allowed:
                worst.append(f"{ending} of {len(data)} bytes: {peak:.0f} MB, {allowed:.0f} MB allowed")
            if done.status == 0:
                read[len(data)] = median(r.cpu for r in runs)
                said = f"{read[len(data)] * 1e3:.0f} ms CPU"
            else:
                said = f"refused: {done.err.strip()[:120]}"
                if not done.err.strip():
                    worst.append(f"{ending} of {len(data)} bytes: refused without a word")
            print(f"  {ending:8} {len(data) / 1e6:6.2f} MB: {peak:4.0f} MB of {allowed:4.0f} MB allowed; {said}")
        sizes = sorted(read)
        small = next((size for size in sizes if size * 5 > sizes[-1]), sizes[-1])
        grown = (read[sizes[-1]] / sizes[-1]) / (read[small] / small)
        print(f"  {ending:8} CPU per byte at {sizes[-1] / 1e6:.2f} MB is {grown:.2f} times that at {small / 1e6:.2f} MB")
        if small == sizes[-1] or grown > GROWTH:
            worst.append(f"{ending}: CPU per byte grows {grown:.2f} times from {small} to {sizes[-1]} bytes")
    print("\n".join(worst) or "all within the limits")
    return 1 if worst else 0


if __name__ == "__main__":
    sys.exit(main())
