"""A player's device in the house: let in by a code, it sees that player's things, is refused all else, and is shut out again."""

import http.client
import json
import re
import ssl
import tempfile
import time
from pathlib import Path
from urllib.parse import urlsplit

import takes
from browser import App, Browser

MINE, MY_NAME = 2, "Pernille Askew"
SOMEBODY_ELSES = 1


class House:
    """The app with a door to other devices, and where that is."""

    def __init__(self, home: str):
        self.app = App(home, "--lan", "--lan-port", "0")
        self.teacher = Browser(self.app)
        self.teacher.go("/devices")
        self.address = re.search(r"https://[\d.]+:\d+", self.code(None)[1])[0]

    def code(self, whose: str | None) -> tuple[str, str]:
        """A code that the teacher makes, and what is said with it."""
        self.teacher.go("/devices")
        if whose:
            next(o for o in self.teacher.all("#whose option") if o.text == whose).click()
        self.teacher.one("#let-in button").click()
        code = self.teacher.until(lambda: self.teacher.all("#code .code"), "a code")[0].text
        return code, self.teacher.text("#code")

    def close(self) -> None:
        self.teacher.close()
        self.app.stop()


class Door:
    """Where a device looks in: what a browser needs of an app."""

    def __init__(self, house: House):
        self.address = house.address


def let_in(house: House, whose: str, size: str = "stand", dark: bool = False) -> Browser:
    """A browser on another device, after its code was typed."""
    code, _ = house.code(whose)
    quiet = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]
    device = Browser(Door(house), size, dark, calm=True, more=quiet)
    device.go("/")
    device.until(lambda: device.driver.current_url.endswith("/pair"), "the code is asked for")
    device.one("#code").send_keys(code.lower())
    device.one("#name").send_keys("<b>tablet</b>")
    device.one("button[type=submit]").click()
    device.until(lambda: f"/today/{MINE}" in device.driver.current_url, "that player's day", 60)
    return device


def asked(device: Browser, method: str, path: str, what: object = None) -> tuple[int, str]:
    """What a page of the device gets when its script asks."""
    return device.js(
        "const [method, path, what] = arguments;"
        "const secret = document.querySelector('meta[name=\"foreread-secret\"]').content;"
        "const headers = {'content-type': 'application/json', 'x-foreread-secret': secret};"
        "return fetch(path, {method, headers, body: what ?? undefined}).then(async (a) => [a.status, await a.text()])",
        method, path, None if what is None else json.dumps(what),
    )


def clean(device: Browser, house: House, others: list[str]) -> None:
    """No request but to our own door, no other player's name, no way to the teacher's screens."""
    elsewhere = [a for a in device.asked() if not a.startswith((house.address, "data:", "blob:", "about:", "chrome:"))]
    assert not elsewhere, elsewhere
    source = device.driver.page_source
    assert not (seen := [name for name in others if name in source]), (device.driver.current_url, seen)
    for link in device.all("a[href]"):
        path = link.get_dom_attribute("href")
        assert not re.match(r"/($|studio|compare|devices|folder)", path), (device.driver.current_url, path)
    assert device.js("return document.documentElement.scrollWidth <= innerWidth"), "nothing hangs out at the side"


def a_players_device_sees_that_players_things_and_is_refused_all_else(_: App, shot) -> None:
    house = House("")
    try:
        house.teacher.go("/studio")
        names = [link.text for link in house.teacher.all(".players h3 a")]
        others = [name for name in names if name != MY_NAME]
        assert len(others) >= 8
        device = let_in(house, MY_NAME)
        device.until(lambda: device.all(".turn"), "the sitting", 60)
        clean(device, house, others)
        shot(device, "device-today-stand")
        # A turn is written down here, and stands in the teacher's record.
        turn = next(t for t in device.all(".turn") if t.find_elements("css selector", '[data-clean="3"]'))
        turn.find_element("css selector", '[data-clean="3"]').click()
        device.until(lambda: "over" in turn.get_attribute("class").split(), "written down", 60)
        house.teacher.go(f"/studio/player/{MINE}")
        assert re.search(r"The last visits \([12] in all\)", house.teacher.driver.page_source)
        # The part that was given, without the teacher's pencil.
        mine = re.search(r"/part/(\d+)", device.one('a[href^="/part/"]').get_dom_attribute("href"))[1]
        device.go(f"/part/{mine}")
        device.until(lambda: device.all(".desk .place"), "the part", 60)
        clean(device, house, others)
        assert f"read for {MY_NAME}" in device.text(".reader")
        assert not any(b.is_displayed() for b in device.all(".pencil-taken, .keep-mark, .erase-mark, .tray")), "the pencil is the teacher's"
        device.keys("p")
        assert not device.one(".tray").is_displayed()
        shot(device, "device-part-stand")
        looked_first(device, house, mine, others, shot)
        own_takes(device, house, mine, others, shot)
        refused(device, house, mine)
        # Shut out while it is open, it must be let in anew.
        house.teacher.go("/devices")
        assert "<b>tablet</b>" in house.teacher.text("tbody"), "its name is words"
        shot(house.teacher, "devices-desk")
        house.teacher.one("[data-shut-out]").click()
        house.teacher.until(lambda: not house.teacher.all("[data-shut-out]"), "shut out")
        assert asked(device, "POST", f"/today/{MINE}/strike", {})[0] == 403
        device.go(f"/today/{MINE}")
        device.until(lambda: device.driver.current_url.endswith("/pair"), "asked for a code again")
        device.close()
    finally:
        house.close()


def looked_first(device: Browser, house: House, mine: str, others: list[str], shot) -> None:
    """Looking first at the device: only given pieces, kept as this player's look whatever the page says."""
    device.go("/look")
    pieces = device.until(lambda: device.all('a[href^="/look/"]'), "pieces")
    assert f"/look/{mine}" in [a.get_dom_attribute("href") for a in pieces]
    clean(device, house, others)
    device.go(f"/look/{mine}")
    assert not device.all('input[name="player"]'), "it is known who looks"
    clean(device, house, others)
    device.one('.pick:has(input[value="free"])').click()
    device.one("button.first").click()
    device.until(lambda: device.all(".looking .place"), "the clean part", 60)
    clean(device, house, others)
    device.all("button.done")[0].click()
    device.until(lambda: "/seen/" in device.driver.current_url and device.all(".told-after"), "what there was", 60)
    clean(device, house, others)
    shot(device, "device-seen-stand")
    seen = urlsplit(device.driver.current_url).path
    device.go(f"/look/player/{MINE}")
    clean(device, house, others)
    assert device.all(f'a[href="{seen}"]'), "in this player's record"
    # Somebody else named in what is sent: it is this player's all the same.
    what = {"player": SOMEBODY_ELSES, "clock": "free", "seed": 1, "used": 1.0, "answers": []}
    assert asked(device, "POST", f"/look/{mine}/answers", what)[0] == 200
    house.teacher.go(f"/look/player/{SOMEBODY_ELSES}")
    assert "has not looked first" in house.teacher.text("main")
    house.teacher.go(f"/look/player/{MINE}?weeks=all")
    assert len(house.teacher.all('a[href*="/seen/"]')) >= 2
    # A look of nobody in particular at the same piece is not for this player.
    status, told = asked(house.teacher, "POST", f"/look/{mine}/answers", {**what, "player": None})
    assert status == 200
    assert asked(device, "GET", json.loads(told)["seen"])[0] == 404
    device.go(f"/look/{mine}")
    assert json.loads(told)["seen"] not in device.driver.page_source


def own_takes(device: Browser, house: House, mine: str, others: list[str], shot) -> None:
    """Takes at the device: recorded there over TLS, heard, shown, noted, written down, deleted; only this player's own."""
    address = f"/takes/{mine}"
    device.go(f"/part/{mine}")
    device.until(lambda: device.all(".to-takes"), "the way to the takes", 60)
    assert device.one(".to-takes").get_dom_attribute("href") == address
    # Of somebody else, and of nobody in particular, at the teacher's machine.
    with tempfile.TemporaryDirectory() as folder:
        name = device.text("h1")
        recording = takes.of_piece(Path(folder), name)
        strange = [brought(house.teacher, recording, mine, whose) for whose in [SOMEBODY_ELSES, None]]
        device.go(address)
        clean(device, house, others)
        assert not device.all('select[name="player"]'), "it is known who plays"
        assert "None yet" in device.text("main"), "takes of others are not this player's"
        assert device.js("return window.isSecureContext"), "the microphone is open to private pages alone"
        device.one(".record").click()
        device.until(lambda: device.text(".record") == "Stop", "the tape runs")
        time.sleep(6)
        device.one(".record").click()
        device.until(lambda: device.one(".played-back").is_displayed(), "recorded")
        shot(device, "device-take-recorded-stand")
        device.one(".keep").click()
        device.until(lambda: "/take/" in device.driver.current_url and device.all(".take-desk"), "heard", 120)
        first = urlsplit(device.driver.current_url).path
        clean(device, house, others)
        # Another is brought as a file, and compared with that player's own alone.
        device.go(address)
        device.one('[name="file"]').send_keys(str(recording))
        device.until(lambda: "/take/" in device.driver.current_url and device.all(".take-desk"), "heard", 120)
        second = urlsplit(device.driver.current_url).path
        assert second != first
    clean(device, house, others)
    offered = [o.get_attribute("value") for o in device.all('[name="beside"] option')]
    assert offered == [first.rsplit("/", 1)[1]], offered
    said = device.text(".heard")
    assert "heard" in said and device.all(".foreread-page svg, .sheet-of-paper svg"), said
    shot(device, "device-take-stand")
    device.one(".hear-all").click()
    device.until(lambda: device.js("return window.foreread.sounding") == 1, "the take sounds")
    device.one(".hear-stop").click()
    device.one('.place[data-bar="0"]').click()
    device.one('.bar-heard [data-hear="model"]').click()
    device.until(lambda: device.js("return window.foreread.sounding") == 1, "the model sounds", 30)
    device.one(".write-down").click()
    device.until(lambda: "ritten into the log" in device.text(".written-said"), "logged")
    # What is kept is this player's, whatever the page says; and others' are as if they were not there.
    house.teacher.go(f"/takes/{mine}?player={MINE}")
    assert len(house.teacher.all(".kept-takes li")) == 2
    for take in strange:
        for method, path, what in [
            ("GET", f"/take/{take}", None), ("GET", f"/take/{take}/sound", None), ("GET", f"/take/{take}/page/0", None),
            ("POST", f"/take/{take}/note", {"note": "x"}), ("POST", f"/take/{take}/log", {}), ("POST", f"/take/{take}/away", {}),
        ]:
            status, body = asked(device, method, path, what)
            assert status == 404 and "There is no such page" in body, (method, path, status)
    assert asked(device, "GET", f"{address}?player={SOMEBODY_ELSES}")[0] == 404
    device.go(address)
    assert len(device.all(".kept-takes li")) == 2
    clean(device, house, others)
    shot(device, "device-takes-stand")
    device.go(first)
    device.one(".delete").click()
    device.one(".delete-really").click()
    device.until(lambda: device.driver.current_url.endswith(address), "deleted")
    assert len(device.all(".kept-takes li")) == 1
    assert asked(device, "GET", first)[0] == 404
    house.teacher.go(f"/takes/{mine}")
    assert len(house.teacher.all(".kept-takes li")) == 3, "the others' are untouched"


def brought(teacher: Browser, recording: Path, piece: str, whose: int | None) -> str:
    """A take that the teacher keeps of a player, or of nobody in particular; its number."""
    teacher.go(f"/takes/{piece}" + (f"?player={whose}" if whose else ""))
    teacher.one('[name="file"]').send_keys(str(recording))
    teacher.until(lambda: "/take/" in teacher.driver.current_url, "heard", 120)
    return teacher.driver.current_url.rsplit("/", 1)[1]


def refused(device: Browser, house: House, mine: str) -> None:
    """From the device's own page, with its session and the page's secret."""
    foreign = next(i for i in range(1, 11) if asked(device, "GET", f"/part/{i}")[0] == 404)
    for method, path, what in [
        ("GET", "/studio", None), ("GET", f"/studio/player/{MINE}", None), ("GET", "/compare", None), ("GET", "/devices", None),
        ("GET", f"/part/{foreign}", None), ("GET", f"/look/{foreign}", None), ("GET", f"/piece/{foreign}/opening", None),
        ("GET", f"/part/{mine}?player={SOMEBODY_ELSES}", None), ("GET", f"/today/{SOMEBODY_ELSES}", None),
        ("GET", f"/look/player/{SOMEBODY_ELSES}", None), ("GET", f"/look/{mine}/now?player={SOMEBODY_ELSES}", None),
        ("POST", f"/part/{mine}/pencil", {"do": "undo"}), ("POST", f"/piece/{mine}/purpose", {"words": "x"}),
        ("POST", f"/piece/{mine}/away", {"away": True}), ("POST", "/devices/offer", {"player": None}),
        ("POST", f"/today/{SOMEBODY_ELSES}/log", {}), ("POST", f"/studio/player/{MINE}", {"name": "x"}),
    ]:
        status, body = asked(device, method, path, what)
        assert status == 404 and "There is no such page" in body, (method, path, status)
    cookie = device.driver.get_cookie("__Host-foreread")
    assert cookie["httpOnly"] and cookie["secure"] and cookie["sameSite"] == "Strict", cookie
    secret = device.js("return document.querySelector('meta[name=\"foreread-secret\"]').content")
    raw(house, cookie["value"], secret)


def raw(house: House, session: str, secret: str) -> None:
    """What no browser would send: another host, another page, no page, no secret, another session; plain words at the private door."""
    where = urlsplit(house.address)
    context = ssl._create_unverified_context()

    def ask(method: str, path: str, session: str | None = session, **headers: str | None) -> tuple[int, str]:
        connection = http.client.HTTPSConnection(where.hostname, where.port, context=context, timeout=30)
        head = {"cookie": f"__Host-foreread={session}" if session else None, "content-type": "application/json"} | headers
        connection.putrequest(method, path, skip_host="host" in headers)
        for name, value in head.items():
            if value is not None:
                connection.putheader(name.replace("_", "-"), value)
        body = b"{}" if method == "POST" else b""
        connection.putheader("content-length", str(len(body)))
        connection.endheaders(body)
        answer = connection.getresponse()
        return answer.status, answer.getheader("location") or answer.read().decode()

    ours, log = house.address, f"/today/{MINE}/log"
    assert ask("GET", f"/today/{MINE}")[0] == 200
    for host in ["evil.example", f"127.0.0.1:{where.port}", where.hostname, f"{where.netloc}.evil.example"]:
        assert ask("GET", f"/today/{MINE}", host=host)[0] == 403, host
    for origin in ["https://evil.example", ours.replace("https", "http"), "null"]:
        assert ask("GET", f"/today/{MINE}", origin=origin)[0] == 403, origin
        assert ask("POST", log, origin=origin, x_foreread_secret=secret)[0] == 403, origin
    assert ask("GET", f"/today/{MINE}", sec_fetch_site="cross-site", sec_fetch_mode="no-cors", sec_fetch_dest="image")[0] == 403
    assert "which page" in ask("POST", log, x_foreread_secret=secret)[1], "no page named"
    assert ask("POST", log, origin=ours)[0] == 403, "no secret"
    assert ask("POST", log, origin=ours, x_foreread_secret="0" * 32)[0] == 403
    assert ask("POST", log, origin=ours, x_foreread_secret=secret)[0] not in (403, 404), "with all of it, it is read"
    for other in [None, "0" * 64, session[:-1], session.upper() + "0"]:
        assert ask("GET", f"/today/{MINE}", session=other) == (303, "/pair"), other
        assert ask("POST", log, session=other, origin=ours, x_foreread_secret=secret)[0] == 403
    plain = http.client.HTTPConnection(where.hostname, where.port, timeout=30)
    try:
        plain.request("GET", "/pair")
        assert plain.getresponse().status >= 400
    except (http.client.HTTPException, OSError):
        pass


def a_code_is_good_once_and_guessing_it_ends(_: App, shot) -> None:
    house = House("")
    try:
        device = Browser(Door(house), "stand", calm=True)

        def typed(code: str) -> str:
            device.go("/pair")
            device.one("#code").send_keys(code)
            device.one("button[type=submit]").click()
            device.until(lambda: device.all("[role=alert]") or "/pair" not in device.driver.current_url, "an answer")
            return device.text("[role=alert]") if device.all("[role=alert]") else ""

        code, _said = house.code(MY_NAME)
        for _ in range(5):
            assert "not the code" in typed("AAAA AAAA")
        shot(device, "pair-stand")
        assert "No code is good now" in typed(code), "after five tries the right one is no good either"
        code, _said = house.code(MY_NAME)
        assert typed(code) == "" and f"/today/{MINE}" in device.driver.current_url
        second = Browser(Door(house), "stand", calm=True)
        second.go("/pair")
        second.one("#code").send_keys(code)
        second.one("button[type=submit]").click()
        assert "No code is good now" in second.text("[role=alert]"), "good once"
        second.go(f"/today/{MINE}")
        assert second.driver.current_url.endswith("/pair")
        second.close()
        device.close()
    finally:
        house.close()


FLOWS = [a_players_device_sees_that_players_things_and_is_refused_all_else, a_code_is_good_once_and_guessing_it_ends]
