"""Looking first, end to end: questions on a clean part, bars pointed at, the clock, what was missed, what keeps being missed."""

import time
from pathlib import Path

from browser import App, Browser, Keys

SHOTS: Path | None = None


def shot(browser: Browser, name: str) -> None:
    if SHOTS:
        SHOTS.mkdir(parents=True, exist_ok=True)
        browser.driver.save_screenshot(str(SHOTS / f"{name}.png"))


def clean(browser: Browser) -> None:
    """No complaint of the browser, no address but ours."""
    assert not (slips := browser.slips()), slips
    elsewhere = [a for a in browser.asked() if not a.startswith((browser.app.address, "data:", "blob:", "about:", "chrome:"))]
    assert not elsewhere, elsewhere


def begin(browser: Browser, piece: str, clock: str, player: str | None = None) -> None:
    """From all pieces to the clean part."""
    browser.go("/look")
    next(a for a in browser.until(lambda: browser.all(".plain a"), "pieces") if a.text == piece).click()
    if player:
        next(l for l in browser.all(".pick") if l.text == player).click()
    browser.one(f'.pick:has(input[value="{clock}"])').click()
    browser.one("button.first").click()
    browser.one(".looking .place")
    browser.until(lambda: browser.js("return Boolean(window.foreread?.clock.began)"), "the clock")


def go(browser: Browser, look: str) -> None:
    name = browser.js("return document.querySelector(arguments[0]).querySelector('h2').firstChild.textContent", f'.ask[data-look="{look}"]')
    next(s for s in browser.all(".step") if s.text.startswith(name)).click()
    assert browser.one(f'.ask[data-look="{look}"]').is_displayed()


def choose(browser: Browser, look: str, says: str) -> None:
    go(browser, look)
    browser.one(f'.ask[data-look="{look}"] .pick')
    next(l for l in browser.all(f'.ask[data-look="{look}"] .pick') if l.text.startswith(says)).click()


def place(browser: Browser, bar: int):
    return browser.one(f'.place[data-bar="{bar}"]')


def touch(browser: Browser, bar: int) -> None:
    there = place(browser, bar)
    browser.js("arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", there)
    there.click()


def nowhere(browser: Browser, look: str) -> None:
    go(browser, look)
    browser.one(f'.ask[data-look="{look}"] .nowhere').click()


def finish(browser: Browser) -> None:
    browser.one(".turn .done").click()
    browser.until(lambda: "/seen/" in browser.driver.current_url, "what there was")
    browser.one(".told-after")


def stands(browser: Browser) -> dict[str, str]:
    names = [dt.text for dt in browser.all(".stand dt")]
    return dict(zip(names, [dd.text for dd in browser.all(".stand dd")]))


def what_was_missed_is_shown_with_its_evidence_and_place(app: App) -> None:
    browser = Browser(app)
    begin(browser, "Kite Weather", "free")
    assert not browser.all(".sheet-of-paper .mark"), "the part is without pencil"
    labels = {p.get_attribute("aria-label") for p in browser.all(".place")}
    assert all(l.startswith("Bar") and len(l) < 12 for l in labels), labels
    shot(browser, "look-desk")
    choose(browser, "key", "D major")
    nowhere(browser, "key")
    # The third of the relative is half right; here it is altogether right.
    choose(browser, "accidentals", "None")
    touch(browser, 0)
    assert browser.text('.ask[data-look="accidentals"] .pointed') == "bar 1"
    assert len(browser.all(".place.pointed-at")) == 1
    shot(browser, "look-pointed-desk")
    touch(browser, 0)
    assert not browser.all(".place.pointed-at"), "touched again the finger is taken away"
    touch(browser, 2)
    go(browser, "range")
    assert not browser.all(".place.pointed-at"), "each question has its own bars"
    touch(browser, 41)
    assert len(browser.all(".step.answered")) == 3
    finish(browser)
    said = stands(browser)
    assert "Key" in said["Seen"] and "range" in said["Seen"], said
    assert "Accidentals" in said["Missed"], said
    assert "Metre and count" in said["Not looked at"], said
    missed = [p for p in browser.all(".bar-by-bar .place-told") if "Accidentals" in p.text]
    assert any("G♯" in p.text and "8 times" in p.text for p in missed), [p.text for p in missed]
    shot(browser, "seen-desk")
    button = next(p for p in missed if p.get_attribute("data-bars"))
    browser.js("arguments[0].scrollIntoView({block: 'center'})", button)
    button.click()
    told = {p.get_attribute("data-bar") for p in browser.all(".place.told")}
    assert told and told <= set(button.get_attribute("data-bars").split()), told
    assert browser.all(".place.escaped-here")
    shot(browser, "seen-place-desk")
    # From the page to what is said of it.
    touch(browser, int(button.get_attribute("data-bars").split()[0]))
    assert browser.all(".told-after .told")
    clean(browser)
    browser.close()


def when_the_time_is_over_the_part_stays_and_nothing_is_blamed(app: App) -> None:
    browser = Browser(app)
    begin(browser, "Kite Weather", "30")
    assert int(browser.text(".clock .left")) > 20
    order = [s.text for s in browser.all(".step")]
    assert order[:4] == ["Key", "Metre and count", "Tempo", "Hardest place"], order
    choose(browser, "key", "D major")
    browser.js("foreread.clock.seconds = foreread.clock.used + 1.2")
    browser.until(lambda: browser.one(".over").is_displayed(), "the end of the time", 5)
    assert browser.text(".over h2") == "The half minute is over."
    assert browser.all(".place") and not [a for a in browser.all(".ask") if a.is_displayed()]
    assert browser.js("return document.activeElement.id") == "over"
    touch(browser, 3)
    assert not browser.all(".place.pointed-at"), "after the time nothing is answered"
    shot(browser, "over-desk")
    finish(browser)
    said = stands(browser)
    assert "Key" in said["Seen"] and "Missed" not in said, said
    assert "hardest place" in said["Not looked at"] and "ornaments" not in said["Not looked at"], said
    assert "there was no time" in browser.text(".kind")
    clean(browser)
    browser.close()


def the_keyboard_alone_looks_first(app: App) -> None:
    browser = Browser(app, calm=True)
    begin(browser, "Minuet on the Town Hall Steps", "60")
    now = lambda: next(a.get_attribute("data-look") for a in browser.all(".ask") if a.is_displayed())
    assert now() == "key"
    browser.keys("1")
    assert browser.js("return document.querySelectorAll('.ask[data-look=key] input:checked').length") == 1
    browser.keys("0")
    assert browser.one('.ask[data-look="key"] .nowhere').get_attribute("aria-pressed") == "true"
    browser.js("document.activeElement.blur()")
    browser.keys(Keys.ARROW_RIGHT)
    assert now() == "metre"
    browser.js("document.querySelector('.place[tabindex=\"0\"]').focus()")
    browser.keys(Keys.ARROW_RIGHT)
    browser.keys(Keys.ENTER)
    assert browser.text('.ask[data-look="metre"] .pointed') == "bar 2"
    browser.keys(" ")
    assert "Touch bars" in browser.text('.ask[data-look="metre"] .pointed')
    browser.keys(" ")
    assert browser.js("return document.querySelector('.place.pointed-at').getAttribute('aria-pressed')") == "true"
    browser.one(".turn .done").send_keys(Keys.ENTER)
    browser.until(lambda: "/seen/" in browser.driver.current_url, "what there was")
    browser.one(".place")
    browser.js("document.querySelector('.place[tabindex=\"0\"]').focus()")
    browser.keys(Keys.ENTER)
    clean(browser)
    browser.close()


def over_weeks_it_is_said_what_keeps_being_missed(app: App) -> None:
    browser = Browser(app)
    browser.go("/look")
    player = browser.until(lambda: browser.all(".halves section:last-child a"), "players")[0].text
    for turn in range(3):
        begin(browser, "Kite Weather", "60", player)
        choose(browser, "accidentals", "None")
        choose(browser, "key", "D major")
        nowhere(browser, "key")
        finish(browser)
        if turn == 0:
            browser.one(".on a:last-child").click()
            assert "too few" in browser.text(".leaf .lead")
    browser.one(".on a:last-child").click()
    words = browser.until(lambda: [p.text for p in browser.all(".leaf .lead")], "words")
    assert words[0].startswith(f"In 3 looks {player} keeps missing accidentals (missed 3 of 3 times"), words
    assert any(w.startswith("Always seen:") and "key" in w for w in words), words
    first = browser.all("tbody tr")[0].text
    assert first.startswith("Accidentals – – 3 –"), first
    shot(browser, "weeks-desk")
    clean(browser)
    browser.close()


def looking_reads_well_on_a_stand_and_in_the_dark(app: App) -> None:
    for size, dark in [("stand", False), ("stand", True), ("desk", True), ("wide", False)]:
        name = f"{size}-{'dark' if dark else 'light'}"
        browser = Browser(app, size, dark, calm=True)
        browser.go("/look/1")
        browser.one("button.first")
        shot(browser, f"look-begin-{name}")
        begin(browser, "The Causeway at Dusk", "60")
        go(browser, "accidentals")
        fits = lambda: browser.js("return document.documentElement.scrollWidth <= innerWidth")
        assert fits(), "nothing hangs out at the side"
        small = browser.js("return [...document.querySelectorAll('.pick, .turn button, .step')].filter((b) => b.offsetParent && b.getBoundingClientRect().height < 24).length")
        assert small == 0, "everything can be touched"
        touch(browser, 2)
        shot(browser, f"look-{name}")
        choose(browser, "accidentals", "None")
        choose(browser, "rhythm", "None")
        finish(browser)
        assert fits()
        shot(browser, f"seen-{name}")
        clean(browser)
        browser.close()


FLOWS = [
    what_was_missed_is_shown_with_its_evidence_and_place,
    when_the_time_is_over_the_part_stays_and_nothing_is_blamed,
    the_keyboard_alone_looks_first,
    over_weeks_it_is_said_what_keeps_being_missed,
    looking_reads_well_on_a_stand_and_in_the_dark,
]
