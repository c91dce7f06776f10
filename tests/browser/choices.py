"""What the teacher decides where we propose: the key, breaths; a book's tunes; errata on the part; sight-reading of a sitting."""

import re
import tempfile
from pathlib import Path

from browser import App, Browser, Keys


def clean(browser: Browser) -> None:
    """No complaint of the browser, no address but ours, nothing hanging out at the side."""
    assert not (slips := browser.slips()), slips
    elsewhere = [a for a in browser.asked() if not a.startswith((browser.app.address, "data:", "blob:", "about:", "chrome:"))]
    assert not elsewhere, elsewhere
    assert browser.js("return document.documentElement.scrollWidth <= innerWidth"), "nothing hangs out at the side"


def open_part(browser: Browser, title: str) -> None:
    browser.go("/")
    links = browser.until(lambda: browser.all("a.piece-title"), "the folder")
    next(link for link in links if link.text == title).click()
    browser.until(lambda: browser.all(".place"), title, 60)


def card(browser: Browser, title: str) -> str:
    """What the folder says of a piece."""
    find = "return [...document.querySelectorAll('a.piece-title')].find((a) => a.textContent === arguments[0])?.closest('li, article')?.textContent ?? ''"
    return browser.js(find, title)


def says(browser: Browser, css: str) -> str:
    return browser.js("return document.querySelector(arguments[0])?.textContent ?? ''", css)


def press(browser: Browser, element) -> None:
    browser.js("arguments[0].scrollIntoView({block: 'center'})", element)
    element.click()


def key_open(browser: Browser) -> None:
    browser.js("document.querySelector('[data-section=key]').open = true")


def choose(browser: Browser, css: str, value: str) -> None:
    browser.js("const s = document.querySelector(arguments[0]); s.value = arguments[1]", css, value)


def the_key_is_confirmed_or_named_and_everything_goes_by_it(app: App, shot) -> None:
    browser = Browser(app)
    open_part(browser, "Kite Weather")
    answer = "[data-section=key] .answer"
    ours = says(browser, answer)
    key_open(browser)
    press(browser, browser.one("[data-section=key] .key-yes"))
    browser.until(lambda: "as the teacher says" in says(browser, answer), "confirmed")
    assert says(browser, answer).split(",")[0] == ours.split(",")[0], "the same key, now hers"
    # Another one; ours stands beside it with its proof, and what to play first goes by hers.
    key_open(browser)
    choose(browser, "[data-section=key] .key-tonic", "E")
    choose(browser, "[data-section=key] .key-scale", "phrygian")
    press(browser, browser.one("[data-section=key] .key-named"))
    browser.until(lambda: says(browser, answer).startswith("E phrygian, as the teacher says"), "named")
    whole = says(browser, "[data-section=key]")
    assert "From the notes alone: " + ours.split(",")[0] in whole, whole
    assert "E phrygian scale" in whole or "E Phrygian scale" in whole, whole
    shot(browser, "key-named-desk")
    # Undone, done again, from the keyboard.
    browser.chord(Keys.CONTROL, "z")
    browser.until(lambda: says(browser, answer).startswith(ours.split(",")[0]), "undone")
    browser.until(lambda: browser.js("return !document.querySelector('.redo').disabled"), "something to do again")
    browser.js("document.querySelector('.redo').click()")
    browser.until(lambda: says(browser, answer).startswith("E phrygian"), "done again")
    # The folder's card says hers, too.
    browser.go("/")
    browser.until(lambda: "E minor" in card(browser, "Kite Weather"), "the card goes by hers")
    open_part(browser, "Kite Weather")
    # Some bars alone, from the bar itself.
    browser.js("window.foreread.margin.openBar(8)")
    browser.until(lambda: browser.all(".bar-shown .choose-key"), "the bar")
    browser.js("document.querySelector('.bar-shown .choose-key').open = true")
    choose(browser, ".bar-shown .key-to", "11")
    choose(browser, ".bar-shown .key-tonic", "Bb")
    choose(browser, ".bar-shown .key-scale", "major")
    press(browser, browser.one(".bar-shown .key-named"))
    browser.until(lambda: "about here B♭ major, as the teacher says" in says(browser, ".bar-shown"), "named here")
    browser.js("document.querySelector('.bar-shown .choose-key').open = true")
    shot(browser, "key-of-bars-desk")
    press(browser, browser.one(".bar-shown .key-back"))
    browser.until(lambda: "B♭ major, as the teacher says" not in says(browser, ".bar-shown"), "taken back")
    clean(browser)
    browser.close()


def breaths_are_kept_struck_out_and_added(app: App, shot) -> None:
    browser = Browser(app)
    open_part(browser, "Kite Weather")
    commas = lambda: len(browser.all(".foreread-page .mark-comma"))
    ours = commas()
    assert ours, "breaths are proposed"
    # The bar of the first breath in the margin.
    note = next(n for n in browser.all(".along .note") if "Breath" in n.text and n.get_attribute("data-spots"))
    bar = int(note.get_attribute("data-bars").split()[0])
    def shown(at: int) -> str:
        browser.js("return window.foreread.margin.openBar(arguments[0])", at)
        browser.until(lambda: browser.all(".bar-shown .breaths"), "its breaths")
        return says(browser, ".bar-shown .breaths")
    if "Breathe before" not in shown(bar):
        bar += 1
        assert "Breathe before" in shown(bar), "the breath stands in the next bar"
    shot(browser, "breaths-desk")
    press(browser, browser.one(".bar-shown .breathe.keep"))
    browser.until(lambda: "the teacher’s choice" in says(browser, ".bar-shown .breaths"), "kept")
    press(browser, browser.one(".bar-shown .breathe.turn"))
    browser.until(lambda: "only while it is slow" in says(browser, ".bar-shown .breaths li"), "light")
    press(browser, browser.one(".bar-shown .breathe.strike"))
    browser.until(lambda: "struck out by the teacher" in says(browser, ".bar-shown .breaths"), "struck out")
    press(browser, browser.one(".bar-shown .take-back"))
    browser.until(lambda: "struck out" not in says(browser, ".bar-shown .breaths"), "taken back")
    browser.until(lambda: commas() == ours, "as proposed")
    # One of her own, in the middle of a bar, in her pencil.
    browser.js("document.querySelector('.more-breath').open = true")
    option = browser.js("return document.querySelector('.breath-note option').textContent")
    press(browser, browser.one(".more-breath .breathe"))
    browser.until(lambda: "the teacher’s choice" in says(browser, ".bar-shown .breaths"), "hers")
    assert option
    shot(browser, "breath-hers-desk")
    clean(browser)
    browser.close()
    # Killed and started again: it is all there, and in what is handed out.
    app.kill()
    again = App(app.home)
    try:
        browser = Browser(again)
        open_part(browser, "Kite Weather")
        assert "breath" in says(browser, ".taken"), says(browser, ".taken")
        browser.close()
    finally:
        again.stop()


def a_breath_of_hers_in_a_rest_is_drawn_and_handed_out(app: App, shot) -> None:
    browser = Browser(app)
    open_part(browser, "Kite Weather")
    commas = lambda: browser.js("return [...document.querySelectorAll('.foreread-page .mark-comma')].map((one) => one.textContent)")
    in_rest = lambda: [one for one in commas() if "bar 8" in one and "Breathe in this rest" in one]
    ours = commas()
    assert ours and not in_rest(), ours
    piece = browser.one(".desk").get_attribute("data-piece")
    browser.go("/studio")
    link = next(link for link in browser.until(lambda: browser.all(".players h3 a"), "players") if link.text == "Sunniva Rooke")
    handed = f"{link.get_attribute('href')}/sheet/{piece}/html"
    open_part(browser, "Kite Weather")
    # Bar 8 ends with a rest, in which nothing is written: breath is taken before bar 9 anyhow.
    browser.js("return window.foreread.margin.openBar(8)")
    browser.until(lambda: "Breathe before" in says(browser, ".bar-shown .breaths"), "its breath")
    press(browser, browser.one(".bar-shown .breathe.keep"))
    browser.until(lambda: "the teacher’s choice" in says(browser, ".bar-shown .breaths"), "hers")
    browser.until(lambda: len(in_rest()) == 1, "drawn in the rest")
    browser.until(lambda: "Breathe in this rest" in browser.js("return document.querySelector('.along').textContent"), "said in the margin")
    # Where it stands: in the bar of the rest, after the rest.
    at = browser.js(
        """const bar = document.querySelector('.place[data-bar="7"]').getBoundingClientRect();
        return [...document.querySelectorAll('.foreread-page .mark-comma')].some((one) => { const box = one.getBoundingClientRect();
          return box.left > bar.left + bar.width * 0.6 && box.right < bar.right + 8 && box.bottom > bar.top - 8 && box.top < bar.bottom; })"""
    )
    assert at, "over the rest at the end of bar 8"
    shot(browser, "breath-in-rest-desk")
    # On the player's sheet.
    sheet = lambda: re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", browser.js("return fetch(arguments[0]).then((a) => a.text())", handed)))
    assert ", before bar 9 ," in sheet(), sheet()
    # Struck out, it is gone again.
    open_part(browser, "Kite Weather")
    browser.js("return window.foreread.margin.openBar(8)")
    press(browser, browser.one(".bar-shown .breathe.strike"))
    browser.until(lambda: not in_rest() and commas() == ours, "struck out")
    assert "before bar 9" not in sheet(), "and from the sheet"
    clean(browser)
    browser.close()


BOOK = """X:1
T:Quay Steps
M:6/8
L:1/8
K:D
A|dfd faf|gec A2A|dfd faf|gec d2:|

X:2
T:Lantern Walk
M:4/4
L:1/8
K:Gm
G2B2 d2B2|c2A2 F2A2|G2B2 d2g2|f2d2 g4|

X:2
T:The Other Two
M:3/4
L:1/4
K:F
F A c|c B A|G A B|A3|
"""


def of_a_book_she_takes_the_tunes_she_wants(app: App, shot) -> None:
    browser = Browser(app)
    browser.go("/")
    book = Path(tempfile.mkdtemp()) / "evening.abc"
    book.write_text(BOOK)
    before = len(browser.until(lambda: browser.all("a.piece-title"), "the folder"))
    browser.one("#files").send_keys(str(book))
    browser.until(lambda: len(browser.all(".book li")) == 3, "its tunes")
    said = says(browser, ".book")
    assert "evening.abc is a book of 3 tunes" in said and "D major, 6/8" in said and "G minor" in said, said
    assert len(browser.all("a.piece-title")) == before, "nothing is taken unasked"
    shot(browser, "book-desk")
    ticks = browser.all(".book input")
    assert browser.js("return document.activeElement === arguments[0]", ticks[0]), "by keys, too"
    ticks[0].click()
    ticks[2].click()
    browser.one(".book button[type=submit]").click()
    browser.until(lambda: "2 tunes are in the folder" in says(browser, ".came"), "two of them")
    there = "return [...document.querySelectorAll('a.piece-title')].map((a) => a.textContent)"
    titles = browser.until(lambda: len(t := browser.js(there)) == before + 2 and t, "the folder")
    assert "Quay Steps" in titles and "The Other Two" in titles and "Lantern Walk" not in titles, titles
    open_part(browser, "The Other Two")
    assert "F major" in says(browser, "[data-section=key] .answer"), "the second of two with one number"
    # The same book again: what is there is said, the rest can be taken.
    browser.go("/")
    browser.one("#files").send_keys(str(book))
    browser.until(lambda: browser.all(".book .take-all"), "the book")
    browser.one(".book .take-all").click()
    browser.until(lambda: "It is in the folder already" in says(browser, ".came"), "said")
    browser.until(lambda: len(browser.all("a.piece-title")) == before + 3, "each once")
    # In a long book hers is found by its words; what was ticked before stays ticked.
    long = book.with_name("long.abc")
    long.write_text("".join(f"X:{n}\nT:{'Reel' if n % 2 else 'Jig'} {n}\nM:{'4/4' if n % 2 else '6/8'}\nL:1/8\nK:D\nd2ef|g4|]\n\n" for n in range(1, 1001)))
    browser.go("/")
    browser.one("#files").send_keys(str(long))
    find = browser.until(lambda: browser.all(".book [name=find]"), "the long book", 60)[0]
    listed = lambda: [label.text for label in browser.all(".book label:has([name=tune])")]
    assert len(listed()) == 200 and "200 of 1000" in says(browser, ".book .more")
    assert not browser.all(".book .take-all"), "a thousand are not taken at once"
    for words, tune in [("jig 998", "Jig 998"), ("reel 77", "Reel 77")]:
        find.clear()
        find.send_keys(words)
        row = browser.until(lambda: next((l for l in browser.all(".book label:has([name=tune])") if l.text.startswith(tune)), None), tune)
        press(browser, row.find_element("css selector", "input"))
    shot(browser, "book-found-desk")
    press(browser, browser.one(".book [type=submit]"))
    browser.until(lambda: len(browser.all("a.piece-title")) == before + 5, "both of them")
    clean(browser)
    browser.close()


def errata_of_a_call_stand_on_the_part(app: App, shot) -> None:
    browser = Browser(app)
    open_part(browser, "Kite Weather")
    errata = says(browser, "[data-section=errata]")
    assert "Harbour Youth Wind Orchestra" in errata and "2026-12-01" in errata and "printed: mp" in errata, errata
    marks = browser.js("return [...document.querySelectorAll('.mark-words')].map((mark) => mark.textContent)")
    assert any("mf" in mark for mark in marks), marks
    note = next(n for n in browser.all(".along .note") if "Erratum" in n.text)
    press(browser, note)
    assert not note.find_elements("xpath", "following-sibling::div"), "it is the call's to change"
    browser.js("scrollTo(0, 0); document.querySelector('.margin').scrollTop = 0")
    shot(browser, "errata-desk")
    clean(browser)
    browser.close()


def something_fresh_is_read_at_sight(app: App, shot) -> None:
    browser = Browser(app, "stand", calm=True)
    # A player with time enough for it; its turns are of today.
    browser.go("/today")
    found = None
    for name in [a.text for a in browser.until(lambda: browser.all(".who a"), "players")]:
        browser.go("/studio")
        next(link for link in browser.until(lambda: browser.all(".players h3 a"), "players") if link.text == name).click()
        when = browser.one("section.when details")
        browser.js("arguments[0].open = true", when)
        minutes = when.find_element("css selector", "[name=minutes]")
        minutes.clear()
        minutes.send_keys("90")
        press(browser, when.find_element("css selector", "button[type=submit]"))
        browser.until(lambda: "90 minutes a day" in says(browser, "section.when"), "the minutes")
        browser.go("/today")
        next(link for link in browser.until(lambda: browser.all(".who a"), "players") if link.text == name).click()
        browser.until(lambda: browser.all(".turn, .sitting"), "the sitting", 60)
        found = browser.all('.turn[data-turn^="sight-reading"]')
        if found:
            break
    assert found, "somebody reads at sight today"
    turn = browser.one('.turn[data-turn^="sight-reading"]')
    browser.js("arguments[0].scrollIntoView({block: 'center'})", turn)
    browser.until(lambda: turn.find_elements("css selector", ".engraved svg path"), "a fresh piece", 90)
    said = turn.find_element("css selector", "figcaption").text
    assert " bars in " in said and "beats a minute" in said, said
    page = "return fetch(arguments[0]).then((a) => a.text())"
    taken = turn.find_element("css selector", ".of-drill a").get_attribute("href")
    notation = browser.js(page, taken)
    assert "<score-partwise" in notation
    browser.js("arguments[0].scrollIntoView({block: 'start'})", turn)
    shot(browser, "sight-stand")
    title = said.splitlines()[0]
    press(browser, turn.find_element("css selector", '[data-felt="steady"]'))
    browser.until(lambda: "read, felt steady" in turn.find_element("css selector", ".said-of-it").text, "written down")
    # It is in her record, as it was.
    player = browser.js("return document.querySelector('.turns').dataset.player")
    browser.go(f"/studio/player/{player}")
    browser.until(lambda: title in says(browser, ".read-at-sight"), "the record")
    kept = browser.js("return document.querySelector('.read-at-sight a').href")
    assert browser.js(page, kept) == notation, "the same page"
    clean(browser)
    browser.close()


FLOWS = [
    the_key_is_confirmed_or_named_and_everything_goes_by_it,
    breaths_are_kept_struck_out_and_added,
    a_breath_of_hers_in_a_rest_is_drawn_and_handed_out,
    of_a_book_she_takes_the_tunes_she_wants,
    errata_of_a_call_stand_on_the_part,
    something_fresh_is_read_at_sight,
]
