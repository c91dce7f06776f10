"""Ten minutes of playing from file to onsets: 20 times faster than real time on one core, under 200 MB.

A demo piece as we play it, again and again until it lasts ten minutes, two channels at 44,100 and at 48,000 samples a second, as
WAV, FLAC and MP3 (where libsndfile writes that); the `ear` example decodes, listens and finds the onsets. CPU time of the process,
and its peak memory as the kernel measures it (the best of three runs).

Source: the issue's limits.
"""

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy
import soundfile

import foreread

EAR, HEAR = os.environ["EAR"], os.environ["HEAR"]
PIECE = foreread.HERE.parent / "demo" / "pieces" / "lantern_barge.musicxml"
SECONDS, FASTER, LIMIT_MB, RUNS = 600, 20, 200, 3


def measured(path: Path) -> tuple[float, float]:
    """CPU seconds and peak memory in MB of one run."""
    child = subprocess.Popen([EAR, str(path), "--speed"], stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    if status:
        raise SystemExit(f"{path.name} was not listened to")
    return used.ru_utime + used.ru_stime, used.ru_maxrss * 1024 / 1e6


def main() -> int:
    wrong = 0
    with tempfile.TemporaryDirectory(prefix="foreread-take-") as folder:
        for rate in (44_100, 48_000):
            once = Path(folder) / "once.wav"
            subprocess.run([HEAR, str(PIECE), str(once), "--rate", str(rate)], check=True, capture_output=True)
            sound, _ = soundfile.read(once, dtype="int16")
            long = numpy.resize(sound, SECONDS * rate)
            for ending in ("wav", "flac", "mp3"):
                path = Path(folder) / f"ten.{ending}"
                try:
                    with soundfile.SoundFile(path, "w", rate, 2) as file:
                        for part in numpy.array_split(long, 600):
                            file.write(numpy.stack([part, part], axis=1))
                except (RuntimeError, TypeError, ValueError) as error:
                    print(f"{ending} not written: {error}")
                    continue
                runs = [measured(path) for _ in range(RUNS)]
                cpu, memory = min(cpu for cpu, _ in runs), min(memory for _, memory in runs)
                path.unlink()
                good = SECONDS / cpu >= FASTER and memory <= LIMIT_MB
                wrong += not good
                print(f"{ending:5}{rate} a second: {cpu:.2f} s of CPU, {SECONDS / cpu:.0f} times real time (limit {FASTER}); "
                      f"{memory:.0f} MB (limit {LIMIT_MB}){'' if good else '   TOO MUCH'}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
