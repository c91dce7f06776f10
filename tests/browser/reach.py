"""Can everybody use it? axe-core looks at every screen, at a desk and upright on a stand, in light and dark rooms; keys alone reach everything."""

import base64
import os
import subprocess
import tempfile
from pathlib import Path

import devices
import look
import takes
from browser import HOUSE, App, Browser, Keys, program

# WCAG 2.0, 2.1 and 2.2, levels A and AA, by axe-core's names.
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
RUN = """
const [tags, done] = arguments;
const told = (one) => one.nodes.map((node) => `${one.id} (${one.impact}): ${one.help} at ${node.target.join(' ')}: ${node.html.slice(0, 200)} [${node.any.concat(node.all).map((c) => c.message).join(' ')}]`);
axe.run(document, { runOnly: { type: 'tag', values: tags }, resultTypes: ['violations'] })
  .then((found) => done({ passed: found.passes.length, wrong: found.violations.flatMap(told) }), (error) => done({ passed: 0, wrong: [String(error)] }));
"""
# Source: WCAG 2.2, success criterion 2.5.8: 24 by 24 CSS pixels, but for words in a sentence and what the page leaves to the browser.
SMALL = """
const inSentence = (one) => one.matches('a, button.point, button.at-note') && getComputedStyle(one).display.startsWith('inline') && one.parentElement.textContent.trim().length > one.textContent.trim().length;
return [...document.querySelectorAll('button, input:not([type=hidden]), select, textarea, summary, a[href]')]
  .filter((one) => one.checkVisibility({ visibilityProperty: true, opacityProperty: false }) && !inSentence(one) && !one.closest('.skip'))
  .filter((one) => {
    const label = one.closest('label') ?? one.labels?.[0];
    const boxes = [one, ...(label ? [label] : [])].map((it) => it.getBoundingClientRect());
    return !boxes.some((box) => box.width >= 23.9 && box.height >= 23.9) && boxes[0].width > 1;
  })
  .map((one) => `${one.outerHTML.slice(0, 160)} ${one.getBoundingClientRect().width.toFixed(0)}x${one.getBoundingClientRect().height.toFixed(0)}`);
"""


def opened(browser: Browser, path: str, there: str = "main") -> None:
    browser.go(path)
    browser.until(lambda: browser.all(there), f"{there} of {path}", 60)


def bar_open(browser: Browser) -> None:
    opened(browser, "/part/1", ".place")
    browser.js("foreread.paper.open(6)")
    browser.until(lambda: browser.all(".bar-shown h2"), "the bar")


def pencil_open(browser: Browser) -> None:
    opened(browser, "/part/1", ".place")
    browser.one(".pencil-taken").click()
    browser.one('.take[data-sign="words"]').click()


def all_open(path: str, there: str = "main"):
    """A page with everything unfolded that can be."""

    def go(browser: Browser) -> None:
        opened(browser, path, there)
        browser.js("document.querySelectorAll('details').forEach((one) => { one.open = true; })")

    return go


def on_the_stand(browser: Browser) -> None:
    opened(browser, "/part/1", ".place")
    browser.one(".stand-up").click()
    browser.until(lambda: browser.all("body.on-stand"), "the stand")


def compared(browser: Browser) -> None:
    opened(browser, "/compare?piece=1&piece=2", ".beside-table")


def looking(browser: Browser) -> None:
    look.begin(browser, "Kite Weather", "60")
    look.choose(browser, "accidentals", "None")
    look.touch(browser, 2)


def time_over(browser: Browser) -> None:
    look.begin(browser, "Kite Weather", "30")
    browser.js("foreread.clock.seconds = foreread.clock.used + 0.5")
    browser.until(lambda: browser.one(".over").is_displayed(), "the end of the time", 8)


def looked(browser: Browser) -> None:
    look.begin(browser, "Kite Weather", "free", browser_player(browser))
    look.choose(browser, "accidentals", "None")
    look.nowhere(browser, "range")
    look.finish(browser)
    browser.js("document.querySelectorAll('details').forEach((one) => { one.open = true; })")


def browser_player(browser: Browser) -> str:
    browser.go("/look")
    return browser.until(lambda: browser.all(".halves section:last-child a"), "players")[0].text


def weeks(browser: Browser) -> None:
    opened(browser, "/look", ".halves")
    address = browser.all(".halves section:last-child a")[0].get_attribute("href")
    browser.driver.get(address)
    browser.one(".leaf")


def hand_out(browser: Browser) -> None:
    """A player's sheet, opened without the tool."""
    opened(browser, "/studio/player/3", ".handed a")
    link = next(a for a in browser.all(".handed a") if a.get_attribute("href").endswith("html"))
    browser.driver.set_script_timeout(120)
    data = browser.driver.execute_async_script(
        "const done = arguments[1]; fetch(arguments[0]).then((a) => a.arrayBuffer()).then((b) => { const r = new FileReader(); r.onload = () => done(r.result); r.readAsDataURL(new Blob([b])); })",
        link.get_attribute("href"),
    )
    file = Path(tempfile.mkdtemp(prefix="foreread-out-")) / "hand-out.html"
    file.write_bytes(base64.b64decode(data.split(",", 1)[1]))
    browser.driver.get(f"file://{file}")
    browser.one("h1")


def a_book(browser: Browser) -> None:
    """A tunebook that was dropped in, with so many tunes that it is searched."""
    opened(browser, "/", ".opening svg")
    file = Path(tempfile.mkdtemp(prefix="foreread-book-")) / "airs.abc"
    file.write_text("".join(f"X:{n}\nT:Air {n}\nM:6/8\nL:1/8\nK:D\nd2e f2d|e3 d3|]\n\n" for n in range(1, 61)))
    browser.one("#files").send_keys(str(file))
    browser.until(lambda: browser.all(".book input[name=find]"), "the book", 60)


def decisions(browser: Browser) -> None:
    """Her choices beside a bar: its key, its breaths, with all that can be chosen open."""
    bar_open(browser)
    browser.js("document.querySelectorAll('.bar-shown details').forEach((one) => { one.open = true; })")


def takes_of(browser: Browser) -> None:
    """Takes of a piece; one is brought if there is none."""
    opened(browser, "/takes/6", ".takes-leaf")
    if not browser.all(".kept-takes li"):
        with tempfile.TemporaryDirectory() as folder:
            sound = takes.rendered(Path(folder), "slips", True, "--bars", "1-4")
            browser.one('[name="file"]').send_keys(str(sound))
            browser.until(lambda: "/take/" in browser.driver.current_url, "heard", 120)
        opened(browser, "/takes/6", ".kept-takes li")


def recorded(browser: Browser) -> None:
    """What was just recorded, before it is kept or let go."""
    takes_of(browser)
    browser.js("document.querySelector('.played-back').hidden = false; document.querySelector('.coming').textContent = 'Recorded. It is kept when you say so.'")


def take(browser: Browser) -> None:
    takes_of(browser)
    browser.one(".kept-takes a").click()
    browser.until(lambda: browser.all(".take-desk .place"), "the take", 60)
    browser.one('.place[data-bar="1"]').click()
    browser.until(lambda: browser.all(".bar-heard h2"), "the bar as it was heard")


def take_to_delete(browser: Browser) -> None:
    """The confirmation before a take is deleted for good."""
    take(browser)
    browser.one(".delete").click()
    browser.until(lambda: browser.one(".delete-really").is_displayed(), "asked once more")


def held_against_the_page(browser: Browser) -> None:
    """A page that was read, beside its picture; it is dropped in if it was not yet."""
    opened(browser, "/", ".opening svg")
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "read.pdf"
        line = [program(), "mark", str(HOUSE / "demo/pieces/kite_weather.musicxml"), "--edition", "clean", "--to", str(page)]
        subprocess.run(line, check=True, capture_output=True)
        browser.one("#files").send_keys(str(page))
        link = browser.until(lambda: (browser.all('.came a[href^="/paper/"]') or [None])[0], "the page is read", 240)
        address = link.get_attribute("href")
    browser.driver.get(address)
    browser.until(lambda: browser.all(".scan image") and browser.all(".ours svg") and browser.all(".our-line svg"), "page and reading", 60)


SCREENS = {
    "folder": all_open("/", ".opening svg"),
    "folder, a wish": all_open("/?wish=horn"),
    "side by side": compared,
    "part": all_open("/part/1", ".place"),
    "part in large print": all_open("/part/1?print=large", ".place"),
    "bar": bar_open,
    "pencil": pencil_open,
    "decisions": decisions,
    "book": a_book,
    "takes": takes_of,
    "recorded": recorded,
    "take": take,
    "take to delete": take_to_delete,
    "held against the page": held_against_the_page,
    "on the stand": on_the_stand,
    "look first": all_open("/look"),
    "look, to begin": all_open("/look/1", "button.first"),
    "looking": looking,
    "the time is over": time_over,
    "seen": looked,
    "weeks": weeks,
    "today": all_open("/today"),
    "sitting": all_open("/today/3", ".engraved svg"),
    "studio": all_open("/studio"),
    "player": all_open("/studio/player/3"),
    "call": all_open("/studio/call/1"),
    "rubrics": all_open("/studio/rubrics"),
    "judging": all_open("/studio/judge?player=3&piece=1"),
    "devices": all_open("/devices"),
    "no such page": all_open("/nowhere"),
    "no such piece": all_open("/part/999"),
    "hand-out": hand_out,
}
ROOMS = [("desk", False), ("desk", True), ("stand", False), ("stand", True)]


class Checked:
    """What the checker said of the screens so far."""

    def __init__(self):
        self.axe = Path(os.environ["AXE"]).read_text()
        self.wrong: list[str] = []
        self.screens, self.passed = 0, 0

    def look(self, browser: Browser, name: str, where: str) -> None:
        browser.driver.set_script_timeout(120)
        browser.js(self.axe)
        found = browser.driver.execute_async_script(RUN, TAGS)
        self.screens, self.passed = self.screens + 1, self.passed + found["passed"]
        small = [] if name == "hand-out" else browser.js(SMALL)
        fits = name == "hand-out" or browser.js("return document.documentElement.scrollWidth <= innerWidth")
        now = [*found["wrong"], *(f"smaller than 24 px: {one}" for one in small), *([] if fits else ["something hangs out at the side"])]
        for one in now:
            print(f"      {name}, {where}: {one}", flush=True)
        self.wrong += now

    def end(self) -> None:
        print(f"      {self.screens} screens, {self.passed} rules passed, {len(self.wrong)} violations", flush=True)
        assert not self.wrong and self.passed > self.screens, f"{len(self.wrong)} violations"


def every_screen_passes_the_checker(app: App, shot) -> None:
    checked = Checked()
    only = os.environ.get("SCREENS", "").split(",") if os.environ.get("SCREENS") else None
    for size, dark in ROOMS:
        browser = Browser(app, size, dark, calm=True)
        browser.driver.set_script_timeout(120)
        where = f"{size}, {'dark' if dark else 'light'}"
        for name, go in SCREENS.items():
            if not only or name in only:
                go(browser)
                checked.look(browser, name, where)
                shot(browser, f"reach-{name.replace(', ', '-').replace(' ', '-')}-{where.replace(', ', '-')}")
        browser.close()
    checked.end()


def every_screen_of_a_device_passes_the_checker(_: App, shot) -> None:
    """The door: its code at the machine, the page where it is typed, a wrong code, and what a player's device shows behind it."""
    checked = Checked()
    house = devices.House("")
    try:
        for size, dark in ROOMS:
            where = f"{size}, {'dark' if dark else 'light'}"
            at_door = Browser(devices.Door(house), size, dark, calm=True)
            opened(at_door, "/pair", "#code")
            checked.look(at_door, "pairing", where)
            shot(at_door, f"reach-pairing-{where.replace(', ', '-')}")
            house.code(devices.MY_NAME)
            at_door.one("#code").send_keys("AAAA AAAA")
            at_door.one("button[type=submit]").click()
            at_door.until(lambda: at_door.all("[role=alert]"), "refused")
            checked.look(at_door, "a wrong code", where)
            at_door.close()
            device = devices.let_in(house, devices.MY_NAME, size, dark)
            device.until(lambda: device.all(".engraved svg"), "the sitting", 60)
            checked.look(device, "a player's day", where)
            part = device.one('a[href^="/part/"]').get_dom_attribute("href")
            for name, path, there in [
                ("a player's part", part, ".desk .place"), ("a player's takes", part.replace("part", "takes"), ".takes-leaf"),
                ("a player's looks", f"/look/player/{devices.MINE}", ".leaf"), ("what is not a player's", "/part/999", "main"),
            ]:
                opened(device, path, there)
                checked.look(device, name, where)
                devices.clean(device, house, [])
                shot(device, f"reach-{name.replace(' ', '-')}-{where.replace(', ', '-')}")
            device.close()
        # At the machine: a code with its picture, and the devices that were let in.
        for size, dark in ROOMS:
            teacher = Browser(house.app, size, dark, calm=True)
            opened(teacher, "/devices", "tbody tr")
            teacher.one("#let-in button").click()
            teacher.until(lambda: teacher.all("#code .code"), "a code")
            where = f"{size}, {'dark' if dark else 'light'}"
            checked.look(teacher, "devices and a code", where)
            shot(teacher, f"reach-devices-{where.replace(', ', '-')}")
            teacher.close()
    finally:
        house.close()
    checked.end()


def keys_alone_reach_everything_and_are_seen(app: App, shot) -> None:
    """Tab goes through all that can be done, in the order of the page, never back into a trap; where it is, a line is drawn round it."""
    browser = Browser(app, calm=True)
    for name in ["folder", "part", "pencil", "held against the page", "on the stand", "look, to begin", "looking", "seen", "sitting", "studio", "player", "rubrics", "devices", "no such page"]:
        SCREENS[name](browser)
        browser.js("document.activeElement?.blur(); document.body.tabIndex = -1; document.body.focus()")
        wanted = browser.js(
            """return [...document.querySelectorAll('a[href], button:not(:disabled), input:not([type=hidden]):not(:disabled), select, textarea, summary, [tabindex="0"]')]
            .filter((one) => one.checkVisibility({ visibilityProperty: true }) && one.tabIndex >= 0).length"""
        )
        reached, unseen, turns, before = set(), [], 0, None
        while turns < 3 * wanted + 20:
            browser.keys(Keys.TAB)
            turns += 1
            now = browser.js(
                """const at = document.activeElement; if (!at || at === document.body) return null;
                window.numbers ??= new Map(); if (!window.numbers.has(at)) window.numbers.set(at, window.numbers.size);
                const seen = (one) => { const s = getComputedStyle(one); return (s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) > 0) || (s.stroke !== 'none' && one.matches('.place')); };
                const shown = seen(at) || [at.nextElementSibling, at.closest('label')].some((one) => one && seen(one));
                return { number: window.numbers.get(at), html: at.outerHTML.slice(0, 120), shown };"""
            )
            # A date has a day, a month and a year to stop at.
            if now is not None and now["number"] == before:
                continue
            if now is None or now["number"] in reached:
                break
            before = now["number"]
            reached.add(now["number"])
            if not now["shown"]:
                unseen.append(now["html"])
        radios = browser.js("const all = [...document.querySelectorAll('input[type=radio]')].filter((one) => one.checkVisibility()); return all.length - new Set(all.map((one) => one.name)).size")
        assert len(reached) >= wanted - radios, f"{name}: {len(reached)} of {wanted} ({radios} in groups)"
        assert not unseen, f"{name}: focus is not seen at {unseen}"
    browser.close()


def with_little_motion_nothing_moves(app: App, shot) -> None:
    browser = Browser(app, calm=True)
    for name in ["folder", "part", "seen", "sitting", "studio"]:
        SCREENS[name](browser)
        moving = browser.js(
            """const long = (times) => times.split(',').some((one) => parseFloat(one) > 0.01);
            return [...document.querySelectorAll('*')].filter((one) => { const s = getComputedStyle(one);
            return long(s.transitionDuration) || (s.animationName !== 'none' && long(s.animationDuration)) || s.scrollBehavior === 'smooth'; }).map((one) => one.outerHTML.slice(0, 100))"""
        )
        assert not moving, f"{name}: {moving[:5]}"
    browser.close()


FLOWS = [
    every_screen_passes_the_checker,
    every_screen_of_a_device_passes_the_checker,
    keys_alone_reach_everything_and_are_seen,
    with_little_motion_nothing_moves,
]
