"""What do a teacher and a player do in the app, and where does a page show that it is done?

Each deed sends what the page's own script sends, and says beforehand which words will stand on which page after it, and which
no longer will. Two hands work at once: what one changes the other leaves alone.
"""

import random
import re
import threading
from urllib.parse import quote

from running import Gone, Refused, Running

TUNE = """X:1
T:{title}
C:nobody, for a test of what is kept
M:4/4
L:1/4
K:D
V:1 nm="Flute"
{bars}|]
"""
PLAYER = "/studio/player/2"  # a demo player with a sitting today
TODAY = "/today/2"
LOOKS = "/look/player/2?weeks=all"
FIRST_PURPOSES, AWAY = [1, 2, 3, 4], [5, 6]
MOST_DROPPED, MOST_PLAYERS, BARS = 30, 12, 5

Words = dict[tuple[str, str], bool]


class Ledger:
    """What was confirmed: words that stand, or stand no more, on a page."""

    def __init__(self):
        self.settled: Words = {}
        self.asked: list[Words] = []
        self.confirmed: dict[str, int] = {}
        self.lock = threading.Lock()

    def do(self, name: str, change: Words, deed, then=None):
        """Asks for a change and notes whether it was confirmed. `then` says what follows from the answer."""
        with self.lock:
            self.asked.append(change)
        try:
            told = deed()
        except Refused:
            with self.lock:
                self.asked.remove(change)
            raise
        with self.lock:  # an app that ended meanwhile has raised `Gone`, and the change stays among those asked for
            self.asked.remove(change)
            self.settled.update(change)
            if then:
                self.settled.update(then(told))
            self.confirmed[name] = self.confirmed.get(name, 0) + 1
        return told


def bars_said(bars: str) -> str:
    """As a card of the folder says it."""
    return f"<dd>{bars} bars"


def swapped(where: str, old: str | None, new: str | None) -> Words:
    """One word in the place of another."""
    change = {(where, new): True} if new else {}
    return change | ({(where, old): False} if old else {})


class Hand:
    """One window: its chance, its ledger, and a number for each word, so that no two are the same."""

    def __init__(self, ledger: Ledger, seed: int, letter: str):
        self.ledger, self.chance, self.letter, self.count = ledger, random.Random(seed), letter, 0
        self.values: dict[object, str | None] = {}

    def word(self) -> str:
        self.count += 1
        return f"{self.letter}{self.count:05}x"

    def swap(self, name: str, about: object, where: str, new: str | None, deed, shown=str, beside: Words | None = None) -> None:
        """A value in the place of another, known by what it is about; `beside` is what else changes with it."""
        old = self.values.get(about)
        change = swapped(where, shown(old) if old else None, shown(new) if new else None) | (beside or {})
        try:
            self.ledger.do(name, change, deed)
            self.values[about] = new
        except Gone:
            self.unsure = (about, where, old, new, shown)
            raise

    unsure = None

    def settle(self, stands) -> None:
        """After a kill: did the last change come to be?"""
        if self.unsure:
            about, where, old, new, shown = self.unsure
            there = stands(where, shown(new)) if new else not stands(where, shown(old))
            self.values[about] = new if there else old
            self.unsure = None


class Teacher(Hand):
    """At the folder and in the studio."""

    def __init__(self, ledger: Ledger, seed: int):
        super().__init__(ledger, seed, "t")
        self.dropped: dict[int, str] = {}
        self.files: list[bytes] = []
        self.players: list[str] = []
        self.lines = 0

    def next(self, app: Running) -> None:
        deeds = [self.purpose, self.purpose, self.away, self.drop, self.correct, self.correct, self.player, self.player, self.assign,
                 self.minutes, self.day, self.call, self.rubric]
        self.chance.choice(deeds)(app)

    def purpose(self, app: Running) -> None:
        piece, new = self.chance.choice(FIRST_PURPOSES), self.word()
        self.swap("purpose", ("purpose", piece), "/", new, lambda: app.post(f"/piece/{piece}/purpose", {"words": new}))

    def away(self, app: Running) -> None:
        piece = self.chance.choice(AWAY)
        gone = None if self.values.get(("away", piece)) else f'href="/part/{piece}"'
        self.swap("put away", ("away", piece), "/?away=true", gone, lambda: app.post(f"/piece/{piece}/away", {"away": bool(gone)}))

    def tune(self, title: str, bars: int) -> bytes:
        notes = "|".join(" ".join(self.chance.choice("DEFGABde") for _ in range(4)) for _ in range(bars))
        return TUNE.format(title=title, bars=notes).encode()

    def drop(self, app: Running) -> None:
        if len(self.dropped) >= MOST_DROPPED:
            return self.correct(app)
        title = f"Air {self.word()}"
        content = self.tune(title, 3)

        def kept(told: dict) -> Words:
            self.files.append(content)
            self.dropped[told["id"]] = title
            self.values["file", told["id"]] = "3"
            return {(f"/?wish={quote(title)}", bars_said("3")): True}

        self.ledger.do("file dropped in", {("/", title): True}, lambda: app.drop(f"/folder/files?name={quote(title)}.abc", content), kept)
        return None

    def correct(self, app: Running) -> None:
        if not self.dropped:
            return
        piece, title = self.chance.choice(list(self.dropped.items()))
        old = self.values["file", piece]
        bars = self.chance.choice([n for n in range(4, 40) if str(n) != old])
        content = self.tune(title, bars)
        send = lambda: app.drop(f"/piece/{piece}/file?name={quote(title)}.abc", content)
        self.swap("file corrected", ("file", piece), f"/?wish={quote(title)}", str(bars), send, bars_said)
        self.files.append(content)

    def player(self, app: Running) -> None:
        new = self.word()
        if len(self.players) < MOST_PLAYERS:
            what = {"name": f"Player {new}", "instrument": "Flute"}
            told = self.ledger.do("player", {("/studio", f"Player {new}"): True}, lambda: app.post("/studio/players", what))
            self.players.append(told["go"])
            self.values["name", told["go"]] = f"Player {new}"
            return
        path = self.chance.choice(self.players)
        what = {"name": self.values["name", path], "instrument": "Flute", "notes": new}
        self.swap("player changed", ("notes", path), path, new, lambda: app.post(path, what))

    def assign(self, app: Running) -> None:
        if not self.players:
            return
        path, new = self.chance.choice(self.players), self.word()
        what = {"piece": str(self.chance.choice(FIRST_PURPOSES)), "goal": new}
        self.ledger.do("assignment", {(path, new): True}, lambda: app.post(f"{path}/assign", what))

    def minutes(self, app: Running) -> None:
        if not self.players:
            return
        # Of two figures, so that none ends another: the page is searched for the words.
        path, new = self.chance.choice(self.players), str(self.chance.randint(10, 99))
        if self.values.get(("minutes", path)) != new:
            send = lambda: app.post(f"{path}/practice", {"minutes": new})
            self.swap("minutes a day", ("minutes", path), path, new, send, lambda said: f"{said} minutes a day")

    def day(self, app: Running) -> None:
        self.lines += 1
        if self.lines % 5 == 0:
            new = self.word()
            what = {"date": "2999-05-01", "name": new, "kind": "concert", "players": ["1"]}
            self.ledger.do("day", {("/studio", new): True}, lambda: app.post("/studio/days", what))

    def call(self, app: Running) -> None:
        new = self.word()
        text = lambda: f'name = "{new}"\ndate = 2999-01-01\n[[pieces]]\nfile = "kite_weather"\n'
        path = self.values.get("call at")
        if not path:
            told = self.ledger.do("call", {("/studio", new): True}, lambda: app.post("/studio/calls", {"text": text()}))
            self.values["call at"], self.values["call"] = told["go"], new
        else:
            self.swap("call changed", "call", "/studio", new, lambda: app.post(path, {"text": text()}))

    def rubric(self, app: Running) -> None:
        self.lines += 1
        if self.lines % 5 == 0:
            new = self.word()
            what = {"name": new, "lines": "Rhythm | 5\nTone | 10"}
            self.ledger.do("rubric", {("/studio/rubrics", new): True}, lambda: app.post("/studio/rubrics", what))


class Player(Hand):
    """At the part with the pencil, at the sitting of today, looking first."""

    def __init__(self, ledger: Ledger, seed: int, piece: int):
        super().__init__(ledger, seed, "p")
        self.piece = piece
        self.adds: dict[str, int] = {}

    def next(self, app: Running) -> None:
        self.chance.choice([self.pencil, self.pencil, self.pencil, self.finger, self.tick, self.tick, self.went, self.went, self.look])(app)

    def gesture(self, app: Running, what: dict) -> object:
        return app.post(f"/part/{self.piece}/pencil", what)

    def pencil(self, app: Running) -> None:
        """Words over a bar, written and rubbed out, undone and done again."""
        bar, where = self.chance.randrange(BARS), f"/part/{self.piece}"
        about, shown = ("mark", bar), lambda said: f">{said}</text>"
        there = self.values.get(about)
        if not there:
            new = self.word()
            self.swap("mark", about, where, new, lambda: self.gesture(app, {"do": "add", "sign": "words", "text": new, "bars": [bar, bar]}), shown)
            if self.chance.random() < 0.4:
                self.swap("undone", about, where, None, lambda: self.gesture(app, {"do": "undo"}), shown)
                self.swap("done again", about, where, new, lambda: self.gesture(app, {"do": "redo"}), shown)
            return
        items = app.page(f"/part/{self.piece}/margin").split("<li>")
        hers = [item for item in items if "The teacher’s own" in item and f'<span class="bars">bar {bar + 1}</span>' in item]
        mark = int(re.search(r'class="erase-mark" data-mark="(\d+)"', hers[0])[1])
        self.swap("mark rubbed out", about, where, None, lambda: self.gesture(app, {"do": "erase", "mark": mark}), shown)

    def finger(self, app: Running) -> None:
        where = f"/part/{self.piece}/bar/0"
        found = re.search(r'<select class="finger" data-bar="0" data-note="(\w+)">(.*?)</select>', app.page(where))
        names = re.findall(r'value="([^"]+)"', found[2])
        now = self.values.get("finger")
        new = self.chance.choice([name for name in [*names, None] if name != now])
        what = {"do": "finger", "bar": 0, "note": found[1], "name": new or ""}
        self.swap("fingering", "finger", where, new, lambda: self.gesture(app, what), lambda said: f'<option value="{said}" selected')

    def turns(self, app: Running) -> list[dict]:
        """The turns of today's sitting that have a rung to tick, as the page names them."""
        page = app.page(TODAY)
        program, on = (re.search(rf'data-{name}="([^"]*)"', page)[1] for name in ("program", "on"))
        turns = [turn for turn in page.split('<li class="turn')[1:] if 'data-rung="0"' in turn]
        return [{"program": program, "on": on, "turn": re.search(r'data-turn="([^"]*)"', turn)[1]} for turn in turns]

    def tick(self, app: Running) -> None:
        which = self.chance.choice(self.turns(app))
        about, name = ("tick", which["turn"]), f"{which['turn']}: first rung ticked"
        new = None if self.values.get(about) else name
        self.swap("rung ticked", about, TODAY, new, lambda: app.post(f"{TODAY}/tick", {**which, "rung": 0, "ticked": bool(new)}))

    def went(self, app: Running) -> None:
        """A turn written down, or struck out: at the sitting and in the record of visits, both or neither."""
        which = self.chance.choice(self.turns(app))
        about, name = ("went", which["turn"]), f"{which['turn']}: written down"
        over, visits, more = bool(self.values.get(about)), self.visits(app), self.adds[which["turn"]]
        after = visits - more if over else visits + more
        count = lambda many: f"The last visits ({many} in all)" if many else None
        beside = swapped(PLAYER, count(visits), count(after)) if more else {}
        if over:
            self.swap("struck out", about, TODAY, None, lambda: app.post(f"{TODAY}/strike", which), beside=beside)
        else:
            self.swap("written down", about, TODAY, name, lambda: app.post(f"{TODAY}/log", {**which, "clean": 3, "felt": "steady"}), beside=beside)

    def visits(self, app: Running) -> int:
        record = re.search(r"The last visits \((\d+) in all\)", app.page(PLAYER))
        return int(record[1]) if record else 0

    def learn(self, app: Running) -> None:
        """How many visits each turn of the sitting writes down (two passages that look alike are two): tried once, and struck out."""
        for which in self.turns(app):
            app.post(f"{TODAY}/log", {**which, "clean": 3})
            self.adds[which["turn"]] = self.visits(app)
            app.post(f"{TODAY}/strike", which)

    def look(self, app: Running) -> None:
        what = {"player": 2, "clock": "free", "seed": self.chance.randrange(1 << 31), "used": 3.0, "answers": []}
        self.ledger.do("look", {}, lambda: app.post(f"/look/{self.piece}/answers", what), lambda told: {(LOOKS, told["seen"]): True})
