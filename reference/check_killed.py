#!/usr/bin/env python3
"""Is the running app killed at any moment without losing what it had confirmed? A hundred times, asked over HTTP as its pages ask.

The program is started over a home; two hands work in it at once (`deeds.py`: pencil, fingerings, the sitting and its log, looking first,
purposes, files dropped in and corrected, players, assignments, days, calls, rubrics). At a random moment it is ended by SIGKILL and
started again. Then the database must be whole, every confirmed word must stand on its page and every replaced one must not, and what
was asked for and never answered must have happened wholly or not at all. Every tenth time it is killed while it starts, too; and ten
fresh homes are killed during their first start, after which the demo studio must be there once and whole. At the end every file that
was dropped in must be in an export, byte for byte.

  check_killed.py [--kills=100] [--seed=N] [--keep]

Source: POSIX.1-2024, signal.h (SIGKILL can't be caught); SQLite documentation, "Pragma statements" (integrity_check, foreign_key_check).
"""

import random
import re
import shutil
import sqlite3
import subprocess
import sys
import threading
import time
from pathlib import Path

import deeds
import foreread
from deeds import TODAY, Ledger, Player, Teacher
from running import Gone, Running

# So long may hands work before it is killed, in seconds; while it starts, less.
LONGEST, STARTS = 1.5, 0.4
PIECE = deeds.TUNE.format(title="Hatch in the Deck", bars="D F A d|c B A G|F E D2|e f g a|d4")


class Wrong(Exception):
    """Something confirmed is not there."""


def database_is_whole(home: Path) -> None:
    """Looked at in a copy: what is left behind by the kill itself is for the app to find."""
    copy = foreread.scratch("looked-at")
    shutil.rmtree(copy, ignore_errors=True)
    copy.mkdir()
    for part in home.glob("foreread.sqlite3*"):
        shutil.copy(part, copy)
    if not (copy / "foreread.sqlite3").exists():
        return  # killed before it was made
    database = sqlite3.connect(copy / "foreread.sqlite3")
    try:
        told = [row[0] for row in database.execute("PRAGMA integrity_check")]
        loose = database.execute("PRAGMA foreign_key_check").fetchall()
    finally:
        database.close()
    if told != ["ok"] or loose:
        raise Wrong(f"the database is not whole: {told} {loose}")


def shown(app: Running, where: str) -> str:
    """A page as words: of a sitting, which turns are ticked and over."""
    page = app.page(where)
    if where.startswith("/part/") and where.count("/") == 2:
        while 'class="desk"' not in page:  # it is being engraved
            time.sleep(0.05)
            page = app.page(where)
    if where != TODAY:
        return page
    said = []
    for turn in page.split('<li class="turn')[1:]:
        name = re.search(r'data-turn="([^"]*)"', turn)[1]
        said += [f"{name}: written down"] if turn.startswith(" over") or turn.startswith(" rest over") else []
        said += [f"{name}: first rung ticked"] if re.search(r'data-rung="0" checked', turn) else []
    return "\n".join(said)


def held(app: Running, ledger: Ledger, hands: list) -> tuple[int, int]:
    """Holds the pages against the ledger; how many words were looked at, and how many unanswered changes came to be."""
    pages: dict[str, str] = {}

    def stands(where: str, words: str) -> bool:
        if where not in pages:
            pages[where] = shown(app, where)
        return words in pages[where]

    happened = 0
    for change in ledger.asked:
        now = {key: stands(*key) for key in change}
        before = {key: ledger.settled.get(key, not is_there) for key, is_there in change.items()}
        if now not in (change, before):
            raise Wrong(f"half done: asked for {change}, before {before}, now {now}")
        happened += bool(change) and now == change
        ledger.settled.update(now)
    ledger.asked.clear()
    for hand in hands:
        hand.settle(stands)
    lost = [(where, words, is_there) for (where, words), is_there in ledger.settled.items() if stands(where, words) != is_there]
    if lost:
        raise Wrong(f"lost: {lost[:5]} ({len(lost)} in all)")
    return len(ledger.settled), happened


def work(app: Running, hand, wrong: list) -> None:
    try:
        while True:
            hand.next(app)
    except Gone:
        pass
    except Exception as error:  # a deed that was refused is a mistake of the check, or of the app
        if app.child.poll() is None or not isinstance(error, (OSError, AttributeError)):
            wrong.append(error)


def worked_and_killed(app: Running, hands: list, seconds: float) -> int:
    """Both hands work until the kill; the press that it had started must end by itself."""
    wrong: list[Exception] = []
    threads = [threading.Thread(target=work, args=(app, hand, wrong)) for hand in hands]
    for thread in threads:
        thread.start()
    time.sleep(seconds)
    helpers = app.helpers()
    app.kill()
    for thread in threads:
        thread.join(60)
    if wrong:
        raise wrong[0]
    end = time.time() + 10
    while any(Path(f"/proc/{helper}").exists() for helper in helpers):
        if time.time() > end:
            raise Wrong("a press goes on without its app")
        time.sleep(0.02)
    return len(helpers)


def killed_at_start(home: Path, chance: random.Random) -> None:
    app = Running(home)
    time.sleep(chance.uniform(0, STARTS))
    app.kill()
    database_is_whole(home)


def first_starts(chance: random.Random, times: int) -> None:
    """Killed in its first start, the next has the demo studio once and whole."""
    for number in range(times):
        home = foreread.scratch(f"first-{number}")
        killed_at_start(home, chance)
        app = Running(home).ready()
        pieces, players = app.page("/").count('<li class="piece"'), len(re.findall(r'href="/studio/player/\d+">', app.page("/studio")))
        app.kill()
        if (pieces, players) != (10, 10):
            raise Wrong(f"after a first start that was killed: {pieces} pieces and {players} players instead of ten and ten")
        shutil.rmtree(home)


def files_are_kept(home: Path, files: list[bytes]) -> None:
    """Every file that was taken is in an export, byte for byte."""
    to = foreread.scratch("export")
    done = subprocess.run([foreread.binary(), "export", "--to", str(to), "--home", str(home)], capture_output=True, text=True, check=False)
    if done.returncode:
        raise Wrong(f"no export: {done.stderr}")
    kept = {path.read_bytes() for path in (to / "pieces").rglob("*.abc")}
    gone = [content for content in files if content not in kept]
    if gone:
        raise Wrong(f"{len(gone)} files that are not as they came, the first: {gone[0]!r}")


def main() -> int:
    options = dict(word.removeprefix("--").split("=") for word in sys.argv[1:] if "=" in word)
    kills, seed = int(options.get("kills", 100)), int(options.get("seed", time.time_ns() % 1_000_000))
    chance, home, began = random.Random(seed), foreread.scratch("home"), time.time()
    ledger, words, happened, starts = Ledger(), 0, 0, 0
    try:
        app = Running(home).ready()
        piece = app.drop("/folder/files?name=hatch.abc", PIECE.encode())["id"]
        hands = [Teacher(ledger, seed + 1), Player(ledger, seed + 2, piece)]
        hands[1].learn(app)
        for number in range(1, kills + 1):
            worked_and_killed(app, hands, chance.uniform(0, LONGEST))
            database_is_whole(home)
            if number % 10 == 0:
                killed_at_start(home, chance)
                starts += 1
            app = Running(home).ready()
            looked, came = held(app, ledger, hands)
            words, happened = words + looked, happened + came
        app.kill()
        files_are_kept(home, hands[0].files)
        first_starts(chance, max(1, kills // 10))
    except Wrong as error:
        print(f"seed {seed}, confirmed {sum(ledger.confirmed.values())}: {error}")
        if "--keep" in sys.argv:
            shutil.copytree(home, Path.cwd() / f"killed-{seed}", dirs_exist_ok=True)
        return 1
    finally:
        if "app" in locals():
            app.kill()
    told = ", ".join(f"{count} {name}" for name, count in sorted(ledger.confirmed.items()))
    print(f"{kills} kills while it worked, {starts} while it started, {max(1, kills // 10)} during a first start (seed {seed}, {time.time() - began:.0f} s)")
    print(f"{sum(ledger.confirmed.values())} changes confirmed, 0 lost: {told}")
    print(f"{len(hands[0].files)} files taken and exported byte for byte; {happened} unanswered ones came to be, each wholly; {words} words looked for on pages; every database whole")
    return 0


if __name__ == "__main__":
    sys.exit(main())
