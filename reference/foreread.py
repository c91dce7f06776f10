"""How is the program under test run, and what did it cost?

`run` starts the binary once and returns its exit status, output, wall time, CPU
time and peak memory; `survey` asks it for a survey as JSON. The binary is taken
from $FOREREAD, or from the release folder of the cargo target directory.
"""

import atexit
import json
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent


@dataclass
class Run:
    """One run of the binary: seconds, KiB, and whatever it said."""

    argv: list[str]
    status: int  # negative: killed by that signal
    timed_out: bool
    seconds: float
    cpu: float
    rss_kib: int
    out: str
    err: str

    @property
    def panicked(self) -> bool:
        """Did it crash, rather than say what is wrong?"""
        return "panicked" in self.err or self.status in (101, 134) or (self.status < 0 and not self.timed_out)

    def json(self) -> dict:
        """Its output as JSON; raises ValueError when it isn't."""
        return json.loads(self.out)


class SurveyFailed(Exception):
    """No survey came back; the message says what the program said instead."""


def binary() -> str:
    """The path of the program under test."""
    if given := os.environ.get("FOREREAD"):
        return str(Path(given).resolve())
    target = os.environ.get("CARGO_TARGET_DIR")
    folder = Path(target) if target else HERE.parent / "target"
    found = folder / "release" / "foreread"
    if not found.exists():
        raise SystemExit(f"no binary at {found}: run reference/run, which builds it, or set FOREREAD")
    return str(found)


_folder = tempfile.TemporaryDirectory(prefix="foreread-reference-")
atexit.register(_folder.cleanup)
_launcher: subprocess.Popen | None = None


def _start_launcher() -> subprocess.Popen:
    global _launcher
    if _launcher is None:
        _launcher = subprocess.Popen(
            [sys.executable, "-S", "-E", str(HERE / "launcher.py")],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )
        atexit.register(_launcher.terminate)
    return _launcher


def scratch(name: str) -> Path:
    """A path in this process's own temporary folder."""
    return Path(_folder.name) / name


def run(arguments: list[str], limit: float = 30.0, program: str | None = None) -> Run:
    """Run the binary (or `program`) with these arguments, for `limit` seconds at most."""
    helper = _start_launcher()
    argv = [program or binary(), *arguments]
    out, err = scratch("stdout"), scratch("stderr")
    request = {"argv": argv, "out": str(out), "err": str(err), "limit": limit}
    helper.stdin.write(json.dumps(request) + "\n")
    helper.stdin.flush()
    reply = json.loads(helper.stdout.readline())
    text = [p.read_text(encoding="utf-8", errors="replace") for p in (out, err)]
    return Run(argv=argv, out=text[0], err=text[1], **reply)


def survey_run(path: Path, part: int | None = None, extra: tuple[str, ...] = ()) -> Run:
    """`survey PATH --part N --as json`, measured."""
    chosen = ["--part", str(part)] if part is not None else []
    return run(["survey", str(path), *chosen, "--as", "json", *extra])


def survey(path: Path, part: int | None = None, extra: tuple[str, ...] = ()) -> dict:
    """The survey of one part as JSON; SurveyFailed with the program's own words if none came."""
    done = survey_run(path, part, extra)
    if done.status != 0:
        raise SurveyFailed(f"exit status {done.status}: {done.err.strip()[:400]}")
    try:
        return done.json()
    except ValueError as problem:
        raise SurveyFailed(f"output is not JSON ({problem}): {done.out[:120]!r}") from problem
