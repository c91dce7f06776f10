"""A page as by a phone, read in the folder, held against its picture and put right with keys and touches; nothing of it is lost."""

import random
import re
import subprocess
import tempfile
import time
from pathlib import Path

from PIL import Image, ImageFilter

import pages
import reach
from browser import HOUSE, App, Browser, Keys, program

PIECES = HOUSE / "demo/pieces"


def as_by_a_phone(page: Path, seed: int) -> Path:
    """Tilted, uneven light, soft, noisy, saved as a JPEG."""
    dice = random.Random(seed)
    grey = Image.open(page).convert("L")
    grey = grey.rotate(dice.uniform(-0.9, 0.9), Image.Resampling.BICUBIC, fillcolor=255)
    w, h = grey.size
    corner = lambda: dice.uniform(0, 0.012)
    quad = [w * corner(), h * corner(), w * corner(), h * (1 - corner()), w * (1 - corner()), h * (1 - corner()), w * (1 - corner()), h * corner()]
    grey = grey.transform((w, h), Image.Transform.QUAD, quad, Image.Resampling.BICUBIC, fillcolor=255)
    grey = grey.filter(ImageFilter.GaussianBlur(0.8))
    shade = Image.linear_gradient("L").rotate(dice.choice([0, 90, 180])).resize((w, h)).point(lambda v: 200 + v // 5)
    noise = Image.effect_noise((w, h), 9)
    mixed = Image.composite(grey, Image.new("L", (w, h), 0), shade)
    out = page.with_suffix(".jpg")
    Image.blend(mixed, noise, 0.06).save(out, quality=72)
    return out


def photo(folder: Path, piece: str, seed: int) -> Path:
    """A page of a demo piece as by a phone."""
    page = folder / f"{piece}.png"
    line = [program(), "mark", str(PIECES / f"{piece}.musicxml"), "--edition", "clean", "--part", "1", "--dpi", "150", "--to", str(page)]
    told = subprocess.run(line, check=True, capture_output=True, text=True).stderr
    first = [said.removeprefix("written: ") for said in told.splitlines() if said.startswith("written: ")][0]
    return as_by_a_phone(Path(first), seed)


def settled(browser: Browser) -> None:
    time.sleep(0.05)
    browser.until(lambda: browser.js("return document.querySelector('.mending').dataset.settled === 'true'"), "kept", 60)


def outlives_a_kill(app, browser, piece, now) -> None:
    """Killed at once and begun anew the app tells the same of the page."""
    app.kill()
    app.start()
    browser.app = app
    browser.go(f"/paper/{piece}")
    drawn(browser)
    assert told(browser, piece) | {"changed": []} == now | {"changed": []}


def told(browser: Browser, piece: str) -> dict:
    browser.driver.set_script_timeout(60)
    return browser.driver.execute_async_script("const done = arguments[1]; fetch(`/paper/${arguments[0]}/reading`).then((a) => a.json()).then(done)", piece)


def opened(browser: Browser, page: Path) -> str:
    """Drops a page in and opens it beside its picture."""
    browser.go("/")
    said = pages.brought(browser, page)[0]
    assert "Read from 1 page" in said and "places to look at" in said and "law where you live" in said, said
    link = browser.one('.came a[href^="/paper/"]')
    assert link.text == "Hold it against the page"
    piece = link.get_attribute("href").rsplit("/", 1)[1]
    link.click()
    drawn(browser)
    return piece


def drawn(browser: Browser) -> None:
    settled(browser)
    browser.until(lambda: browser.all(".scan image") and browser.all(".ours svg") and browser.all(".our-line svg"), "page and reading", 60)
    assert browser.js("return fetch(document.querySelector('.scan image').getAttribute('href')).then((r) => r.ok && r.headers.get('content-type') === 'image/png')")


def a_read_page_is_held_against_its_picture_and_put_right(app: App, shot) -> None:
    with tempfile.TemporaryDirectory() as folder:
        browser = Browser(app)
        pressed = 0
        for number, name in enumerate(["am_waldrand", "causeway_at_dusk", "kite_weather"]):
            piece = opened(browser, photo(Path(folder), name, number))
            shot(browser, f"mending-{name}-desk")
            before = told(browser, piece)
            places = len(before["places"])
            # One key a place: here the person at the keys finds all of it right.
            keys = 0
            started = time.monotonic()
            while told(browser, piece)["places"]:
                browser.keys(Keys.ENTER)
                settled(browser)
                keys += 1
                assert keys <= places, (keys, places)
            signs = before["signs"]
            print(f"    {name}: {signs} signs, {before['doubtful']} doubtful, {before['off']} bars off; {places} places, {keys} keys, {time.monotonic() - started:.1f} s of the machine")
            assert keys == places
            pressed += keys
            shot(browser, f"mending-settled-{name}-desk")
        # A wrong note: up a step by a key, an accidental, another value; each at once in the piece; undone one by one.
        touch_a_note(browser, piece)
        words = lambda: browser.text(".taken")
        plain = words()
        browser.keys(Keys.ARROW_UP)
        settled(browser)
        assert words() != plain and "99 % sure" in words(), words()
        stepped = words()
        browser.keys("#")
        settled(browser)
        assert "♯" in words() or "#" in words(), words()
        browser.keys("h")
        settled(browser)
        assert "half note" in words(), words()
        now = told(browser, piece)
        assert now["off"] > 0 and any("add up" in li.text for li in browser.all(".changed li")), [li.text for li in browser.all(".changed li")]
        shot(browser, "mending-changed-desk")
        # Nothing is lost: killed at once, it is all there.
        outlives_a_kill(app, browser, piece, now)
        for _ in range(3):
            browser.js("document.querySelector('.held').focus()")
            browser.keys("z")
            settled(browser)
        assert [line["signs"] for line in told(browser, piece)["lines"]] == [line["signs"] for line in before_settled(before, told(browser, piece))]
        assert stepped != plain
        # A note is taken away and put back by hand.
        line = touch_a_note(browser, piece)
        count = len(told(browser, piece)["lines"][line]["signs"])
        browser.keys(Keys.DELETE)
        settled(browser)
        assert len(told(browser, piece)["lines"][line]["signs"]) == count - 1
        browser.js("document.querySelector('.held').focus()")
        browser.keys("a")
        settled(browser)
        assert len(told(browser, piece)["lines"][line]["signs"]) == count
        browser.one(".undo").click()
        settled(browser)
        browser.one(".undo").click()
        settled(browser)
        # Her own test page: kept, exported, read again.
        browser.one(".test-page").click()
        settled(browser)
        assert browser.one(".test-page").get_attribute("aria-pressed") == "true"
        out = Path(folder) / "everything"
        subprocess.run([program(), "export", "--home", app.home, "--to", str(out)], check=True, capture_output=True)
        said = subprocess.run([program(), "scan", "--check", str(out / "test-pages")], check=True, capture_output=True, text=True).stdout
        print(f"    {said.splitlines()[-1]}")
        assert "1 test page: " in said and "signs right" in said and "bars right" in said, said
        # The part shows a way back to the page.
        browser.go(f"/part/{piece}")
        assert browser.one(f'a[href="/paper/{piece}"]').text == "The page"
        slips = [slip for slip in browser.slips() if "ERR_CONNECTION" not in slip]
        assert not slips, slips
        browser.close()


def touch_a_note(browser: Browser, piece: str) -> int:
    """Touches the first note of the line that is shown; says which line that is."""
    line = int(re.search(r"line (\d+)", browser.text(".where"))[1]) - 1
    note = next(s for s in told(browser, piece)["lines"][line]["signs"] if s["main"].startswith("n"))
    browser.js(f"document.querySelector('[data-sign=\"{note['number']}\"]').dispatchEvent(new MouseEvent('click', {{ bubbles: true }}))")
    return line


def before_settled(before: dict, now: dict) -> list:
    """The signs as they were read; what was found right is as sure as can be."""
    lines = []
    for old, new in zip(before["lines"], now["lines"]):
        signs = [o | {"sure": n["sure"]} for o, n in zip(old["signs"], new["signs"])]
        lines.append(old | {"signs": signs})
    return lines


def texts(browser: Browser, piece: str) -> list:
    return [text | {"line": number} for number, line in enumerate(told(browser, piece)["lines"]) for text in line["texts"]]


def with_text(browser: Browser, piece: str, is_it) -> dict:
    """Goes from text to text by key until one is in hand that is wanted; says which."""
    wanted = next(text for text in texts(browser, piece) if is_it(text))
    browser.js("document.querySelector('.held').focus()")
    for _ in range(120):
        if browser.text(".taken").find(wanted["taken"]) >= 0 and browser.js("return document.querySelector('.words-here .text').value") == wanted["text"]:
            return wanted
        browser.keys("j")
    raise AssertionError(f"no key leads to {wanted['taken']}")


def write(browser: Browser, css: str, words: str) -> None:
    field = browser.one(f".words-here {css}")
    field.send_keys(Keys.CONTROL, "a")
    field.send_keys(words)


def words_are_put_right_beside_where_they_stand(app: App, shot) -> None:
    with tempfile.TemporaryDirectory() as folder:
        browser = Browser(app)
        piece = opened(browser, photo(Path(folder), "kite_weather", 3))
        before = told(browser, piece)
        for text in texts(browser, piece):
            print(f"    line {text['line'] + 1}: {text['taken']}, {text['sure']:.2f}{' — ' + text['doubt'] if text['doubt'] else ''}")
        # A tempo: reached by keys, another word by the keyboard alone.
        tempo = with_text(browser, piece, lambda t: t["kind"] in ("tempo", "expression") and t["text"] and not t["beyond"])
        assert browser.all(".paper-line [data-text][aria-pressed=true]") or browser.all(".scan .in-hand"), "where it stands is shown"
        shot(browser, "mending-words-desk")
        browser.keys("x")
        assert browser.js("return document.activeElement.className") == "text"
        write(browser, ".text", "Sehr ruhig")
        browser.keys(Keys.ENTER)
        settled(browser)
        there = lambda what: next((t for t in texts(browser, piece) if t["text"] == what), None)
        assert there("Sehr ruhig") and there("Sehr ruhig")["sure"] == 1.0
        # The metronome mark: another note, a dot, another number, by touch.
        mark = next((t for t in texts(browser, piece) if t["mark"]), None)
        if mark:
            with_text(browser, piece, lambda t: t["mark"])
        else:
            with_text(browser, piece, lambda t: t["text"] == "Sehr ruhig")
        browser.one('.words-here .note option[value="3"]').click()
        browser.one(".words-here .dots option:nth-child(2)").click()
        write(browser, ".value", "c. 44")
        browser.one('[data-does="keepText"]').click()
        settled(browser)
        marks = [t["mark"] for t in texts(browser, piece) if t["mark"]]
        assert {"note": 3, "dots": 1, "value": "c. 44"} in marks, marks
        # Nonsense is told, and nothing is changed.
        gestures = told(browser, piece)["gestures"]
        write(browser, ".value", "soon")
        browser.one('[data-does="keepText"]').click()
        settled(browser)
        assert told(browser, piece)["gestures"] == gestures
        # A rehearsal mark that was missed, at the note in hand.
        line = touch_a_note(browser, piece)
        browser.keys("x")
        write(browser, ".text", "Q")
        browser.one('.words-here .kind option[value="rehearsal"]').click()
        browser.one('[data-does="addText"]').click()
        settled(browser)
        assert there("Q")["kind"] == "rehearsal" and there("Q")["line"] == line
        # A dynamic and an ending that were missed, by keys.
        touch_a_note(browser, piece)
        marks = lambda: [m["name"] for m in told(browser, piece)["lines"][line]["marks"]]
        many = len(marks())
        browser.keys("d")
        browser.keys("sfz")
        browser.keys(Keys.ENTER)
        settled(browser)
        assert len(marks()) == many + 1 and "sfz" in marks(), marks()
        shot(browser, "mending-added-desk")
        touch_a_note(browser, piece)
        assert not browser.one(".words-here").is_displayed(), "words are put right where words are in hand"
        browser.one('.sign-here option[value="ending:v1"]').click()
        browser.one('[data-does="put"]').click()
        settled(browser)
        assert len(marks()) == many + 3 and "v1" in marks() and "vend" in marks(), marks()
        browser.js("document.querySelector('.held').focus()")
        browser.keys("z")
        settled(browser)
        assert len(marks()) == many + 1
        # It is no text.
        count = len(texts(browser, piece))
        with_text(browser, piece, lambda t: t["text"] == "Q")
        browser.keys(Keys.DELETE)
        settled(browser)
        assert len(texts(browser, piece)) == count - 1 and not there("Q")
        # The title, which stands in the head: its picture is cut from the page, and the folder calls the piece by it.
        title = with_text(browser, piece, lambda t: t["kind"] == "title")
        if title["beyond"]:
            browser.until(lambda: browser.js("return document.querySelector('.scan image').getAttribute('href')").find("/page/") > 0, "the page")
            assert browser.js("return fetch(document.querySelector('.scan image').getAttribute('href')).then((r) => r.ok && r.headers.get('content-type') === 'image/png')")
            time.sleep(1)
            shot(browser, "mending-title-desk")
        browser.keys("x")
        write(browser, ".text", "Kite Song")
        browser.keys(Keys.ENTER)
        settled(browser)
        assert any("Kite Song" in li.text for li in browser.all(".changed li")), [li.text for li in browser.all(".changed li")]
        # Killed at once, all of it is there, in the part, too.
        now = told(browser, piece)
        outlives_a_kill(app, browser, piece, now)
        browser.go(f"/part/{piece}")
        assert browser.text("h1") == "Kite Song"
        # Everybody can use it.
        checked = reach.Checked()
        for size, dark in reach.ROOMS:
            other = Browser(app, size, dark, calm=True)
            other.go(f"/paper/{piece}")
            drawn(other)
            with_text(other, piece, lambda t: t["text"] == "Sehr ruhig")
            other.until(lambda: other.js("return [...document.querySelectorAll('.mending image')].every((one) => performance.getEntriesByName(new URL(one.getAttribute('href'), location).href).length)"), "the page's pictures")
            time.sleep(1)
            shot(other, f"mending-words-{size}-{'dark' if dark else 'light'}")
            checked.look(other, "the page, words in hand", f"{size}, {'dark' if dark else 'light'}")
            other.close()
        checked.end()
        # Undone one by one, all is as it was read.
        browser.go(f"/paper/{piece}")
        drawn(browser)
        for _ in range(told(browser, piece)["gestures"]):
            browser.js("document.querySelector('.held').focus()")
            browser.keys("z")
            settled(browser)
        after = told(browser, piece)
        assert after["lines"] == before["lines"] and after["places"] == before["places"]
        slips = [slip for slip in browser.slips() if "ERR_CONNECTION" not in slip and "422" not in slip and "400" not in slip]
        assert not slips, slips
        browser.close()


FLOWS = [words_are_put_right_beside_where_they_stand, a_read_page_is_held_against_its_picture_and_put_right]
