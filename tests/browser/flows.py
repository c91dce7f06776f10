"""The flows of the app, end to end, in a real browser. Each function is one; its words say what must hold."""

import sys
import tempfile
import time
import traceback
from pathlib import Path

import choices
import devices
import look
import mending
import pages
import paint
import reach
import seen
import stand
import studio
import takes
from browser import App, Browser, Keys

SHOTS: Path | None = None


def shot(browser: Browser, name: str) -> None:
    if SHOTS:
        SHOTS.mkdir(parents=True, exist_ok=True)
        browser.driver.save_screenshot(str(SHOTS / f"{name}.png"))


def open_part(browser: Browser, name: str) -> None:
    """From the folder to a part, by its name."""
    browser.go("/")
    for link in browser.until(lambda: browser.all("a.piece-title"), "the folder"):
        if link.text == name:
            link.click()
            browser.one(".place")
            return
    raise AssertionError(f"no {name} in the folder")


def place(browser: Browser, bar: int):
    found = browser.one(f'.place[data-bar="{bar}"]')
    browser.js("arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", found)
    return found


def clean(browser: Browser, but: str = "\0") -> None:
    """No complaint of the browser (but one that is expected), no address but ours."""
    assert not (slips := [slip for slip in browser.slips() if but not in slip]), slips
    elsewhere = [a for a in browser.asked() if not a.startswith((browser.app.address, "data:", "blob:", "about:", "chrome:"))]
    assert not elsewhere, elsewhere


def a_note_shows_its_place_and_a_bar_its_notes(app: App) -> None:
    browser = Browser(app)
    open_part(browser, "Kite Weather")
    note = next(n for n in browser.all(".along .note") if n.get_attribute("data-spots"))
    browser.js("arguments[0].scrollIntoView({block: 'center'})", note)
    note.click()
    told = browser.all(".place.told")
    assert told and browser.all(".ring"), "the bars are washed and the sign is ringed"
    assert {t.get_attribute("data-bar") for t in told} <= set(note.get_attribute("data-bars").split())
    shot(browser, "note-desk")
    note.click()
    assert not browser.all(".place.told"), "touched again it is let go"
    place(browser, 6).click()
    assert browser.text(".bar-shown h2") == "Bar 7"
    words = browser.text(".bar-shown")
    for expected in ["What is in it", "What it asks", "How to play it", "1 e & a"]:
        assert expected in words or expected.replace(" ", "\n") in words or expected == "1 e & a", (expected, words)
    assert browser.all(".bar-shown figure svg"), "fingerings are drawn"
    assert browser.all(".bar-shown .note"), "what is pencilled at the bar stands there, too"
    shot(browser, "bar-desk")
    browser.keys(Keys.ESCAPE)
    assert browser.one(".margin-notes").is_displayed()
    clean(browser)
    browser.close()


def it_plays_with_a_moving_place_and_goes_round_bars(app: App) -> None:
    browser = Browser(app)
    open_part(browser, "Kite Weather")
    browser.one('[name="count-in"]').click()
    browser.one(".play").click()
    browser.until(lambda: browser.all(".pencil-tip"), "the pencil")
    where = lambda: browser.js("return foreread.paper.bar")
    first = browser.until(lambda: where() is not None and [where()], "a bar")[0]
    browser.until(lambda: where() is not None and where() > first, "the next bar", 15)
    shot(browser, "play-desk")
    browser.one(".play").click()
    assert not browser.all(".pencil-tip")
    browser.drag(place(browser, 6), place(browser, 7))
    assert "bars 7–8" in browser.text(".round-said")
    browser.js("document.querySelector('[name=tempo]').value = '240'")
    browser.one(".play").click()
    browser.until(lambda: browser.js("return foreread.listen.playing"), "sound")
    seen, end = set(), time.time() + 6
    while time.time() < end:
        seen.add(where())
        time.sleep(0.02)
    assert browser.js("return foreread.listen.playing"), "it goes round and round"
    assert seen - {None} == {6, 7}, seen
    shot(browser, "round-desk")
    browser.keys(Keys.ESCAPE)
    clean(browser)
    browser.close()


def the_keyboard_alone_is_enough(app: App) -> None:
    browser = Browser(app)
    open_part(browser, "Kite Weather")
    browser.js("document.querySelector('.place[tabindex=\"0\"]').focus()")
    at = lambda: browser.js("return document.activeElement.dataset.bar")
    assert at() == "0"
    browser.keys(Keys.ARROW_RIGHT)
    assert at() == "1"
    browser.keys(Keys.ARROW_DOWN)
    assert browser.js("return document.activeElement.dataset.system") == "1"
    browser.keys(Keys.HOME)
    browser.chord(Keys.SHIFT, Keys.ARROW_RIGHT)
    browser.chord(Keys.SHIFT, Keys.ARROW_RIGHT)
    assert "bars 1–3" in browser.text(".round-said")
    browser.keys(Keys.ESCAPE)
    assert "whole" in browser.text(".round-said")
    browser.keys(Keys.ENTER)
    browser.until(lambda: browser.all(".bar-shown h2"), "the bar")
    browser.until(lambda: browser.js("return document.activeElement.tagName") == "H2", "its heading")
    browser.keys(Keys.ESCAPE)
    assert at() is not None, "back where it was left"
    browser.keys(" ")
    browser.until(lambda: browser.js("return foreread.listen.playing"), "sound")
    browser.keys(" ")
    browser.until(lambda: not browser.js("return foreread.listen.playing"), "silence")
    clean(browser)
    browser.close()


def it_reads_well_on_a_stand_and_in_the_dark(app: App) -> None:
    for size, dark in [("stand", False), ("stand", True), ("wide", True), ("desk", True)]:
        browser = Browser(app, size, dark, calm=True)
        open_part(browser, "Kite Weather")
        paper = browser.one(".sheet-of-paper").rect
        assert paper["width"] > (780 if size == "stand" else 400)
        assert browser.js("return document.documentElement.scrollWidth <= innerWidth"), "nothing hangs out at the side"
        shot(browser, f"part-{size}-{'dark' if dark else 'light'}")
        place(browser, 5).click()
        browser.one(".bar-shown h2")
        shot(browser, f"bar-{size}-{'dark' if dark else 'light'}")
        browser.keys(Keys.ESCAPE)
        browser.one(".margin-shown").click()
        shot(browser, f"alone-{size}-{'dark' if dark else 'light'}")
        clean(browser)
        browser.close()


def the_folder_takes_files_finds_and_compares(app: App) -> None:
    browser = Browser(app)
    browser.go("/")
    titles = lambda: browser.js("return [...document.querySelectorAll('a.piece-title')].map(t => t.textContent)")
    assert len(titles()) >= 10
    browser.until(lambda: browser.all(".opening svg"), "an opening")
    shot(browser, "folder-desk")
    browser.one("#wish").send_keys("horn" + Keys.ENTER)
    browser.until(lambda: titles() == ["Am Waldrand"], "the horn piece")
    browser.go("/")
    folder = Path(tempfile.mkdtemp(prefix="foreread-files-"))
    (folder / "evening.abc").write_text("X:1\nT:Evening Air\nM:6/8\nL:1/8\nK:Bb\nB2c d2e|f3 B3|]\n")
    (folder / "wrong.xml").write_text("<html>")
    browser.one("#files").send_keys(f"{folder}/evening.abc\n{folder}/wrong.xml")
    browser.until(lambda: "Evening Air" in titles(), "the new piece")
    assert "wrong.xml" in browser.text(".came") and len(browser.all(".came li")) == 2
    browser.until(lambda: len(browser.all(".came li")) == 2 and "…" not in browser.text(".came"), "both files")
    time.sleep(0.5)  # the list is fetched anew once more
    card = next(c for c in browser.all(".piece") if "Evening Air" in c.text)
    browser.js("arguments[0].scrollIntoView({block: 'center'})", card)
    card.find_element("css selector", ".write").click()
    card.find_element("css selector", "textarea").send_keys("compound time by ear")
    card.find_element("css selector", ".keep").click()
    browser.until(lambda: "compound time by ear" in card.text, "the purpose")
    browser.go("/?wish=compound%20time%20by%20ear, 6/8")
    assert titles() == ["Evening Air"]
    browser.go("/")
    for box in browser.all('input[name="piece"]')[:2]:
        browser.js("arguments[0].click()", box)
    browser.one(".compare").click()
    browser.until(lambda: browser.all(".beside-table"), "side by side")
    assert len(browser.all(".beside-table thead th")) == 3
    browser.until(lambda: len(browser.all(".opening svg")) == 2, "both openings")
    shot(browser, "beside-desk")
    clean(browser, but="files?name=wrong.xml")
    browser.close()


def the_teacher_pencils_and_it_is_kept(app: App) -> None:
    browser = Browser(app)
    open_part(browser, "Kite Weather")
    hers = lambda: len(browser.all(".along .note .about"))
    circles = lambda: len(browser.all(".foreread-page .mark-circle"))
    said = lambda words: browser.until(lambda: words in browser.text(".hint"), words)
    before = circles()
    browser.one(".pencil-taken").click()
    browser.one('.take[data-sign="circle"]').click()
    place(browser, 10).click()
    said("Pencilled: circle, bar 11")
    assert circles() == before + 1
    shot(browser, "pencil-desk")
    browser.one('.take[data-sign="brackets"]').click()
    brackets = len(browser.all(".foreread-page .mark-brackets"))
    browser.drag(place(browser, 20), place(browser, 21))
    said("Pencilled: brackets, bar 21")
    assert len(browser.all(".foreread-page .mark-brackets")) == brackets + 1
    browser.one(".undo").click()
    said("Undone")
    assert len(browser.all(".foreread-page .mark-brackets")) == brackets
    browser.one(".redo").click()
    said("Done again")
    assert len(browser.all(".foreread-page .mark-brackets")) == brackets + 1
    # Words need words; they are written beside the sign.
    browser.one('.take[data-sign="words"]').click()
    browser.one('[name="written"]').send_keys("<b>sing</b>")
    place(browser, 30).click()
    said("Pencilled: words")
    written = "return [...document.querySelectorAll('.mark-words')].map((mark) => mark.textContent).join(' ')"
    assert "<b>sing</b>" in browser.js(written)
    # One of ours is rubbed out from the margin, and taken back.
    browser.keys(Keys.ESCAPE)
    commas = lambda: len(browser.all(".foreread-page .mark-comma"))
    ours = commas()
    note = next(n for n in browser.all(".along .note") if "Breath" in n.text and n.get_attribute("data-spots"))
    browser.js("arguments[0].scrollIntoView({block: 'center'})", note)
    note.click()
    browser.until(lambda: [b for b in browser.all(".erase-mark") if b.is_displayed()], "rub it out")[0].click()
    said("Rubbed out: comma")
    assert commas() < ours or "bare" in browser.js("return document.querySelector('.along').innerHTML")
    clean(browser)
    browser.close()
    # Killed at once, started again: it is all there.
    app.kill()
    again = App(app.home)
    try:
        browser = Browser(again, "stand")
        open_part(browser, "Kite Weather")
        assert len(browser.all(".foreread-page .mark-circle")) == before + 1
        assert len(browser.all(".foreread-page .mark-brackets")) == brackets + 1
        assert "rubbed out" in browser.js("return document.querySelector('.taken').textContent")
        browser.js("document.querySelector('.taken').open = true")
        back = browser.one(".take-back")
        browser.js("arguments[0].scrollIntoView({block: 'center'})", back)
        back.click()
        browser.until(lambda: not browser.all(".taken"), "taken back")
        assert len(browser.all(".foreread-page .mark-comma")) == ours
        shot(browser, "pencil-stand")
        browser.close()
    finally:
        again.stop()


# Flows of other files that are given the way to take a picture.
WITH_SHOTS = [*choices.FLOWS, *devices.FLOWS, *mending.FLOWS, *pages.FLOWS, *paint.FLOWS, *reach.FLOWS, *stand.FLOWS, *seen.FLOWS, *takes.FLOWS]

FLOWS = [
    the_folder_takes_files_finds_and_compares,
    the_teacher_pencils_and_it_is_kept,
    a_note_shows_its_place_and_a_bar_its_notes,
    it_plays_with_a_moving_place_and_goes_round_bars,
    the_keyboard_alone_is_enough,
    it_reads_well_on_a_stand_and_in_the_dark,
    *studio.FLOWS,
    *look.FLOWS,
    *WITH_SHOTS,
]


def main() -> int:
    global SHOTS
    words = sys.argv[1:]
    if "--shots" in words:
        at = words.index("--shots")
        SHOTS = look.SHOTS = Path(words[at + 1])
        del words[at : at + 2]
    wrong = 0
    for flow in [f for f in FLOWS if not words or f.__name__ in words]:
        app = App(tempfile.mkdtemp(prefix="foreread-browser-"))
        start = time.time()
        try:
            flow(app, shot) if flow in [*studio.FLOWS, *WITH_SHOTS] else flow(app)
            print(f"ok    {flow.__name__} ({time.time() - start:.1f} s)")
        except Exception:
            wrong += 1
            print(f"WRONG {flow.__name__}")
            traceback.print_exc()
        finally:
            app.stop()
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
