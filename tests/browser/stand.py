"""At a music stand: a page upright, two side by side, a foot pedal, large print, a dark room; and the part on paper."""

import base64
import re
import sys
from pathlib import Path

from browser import App, Browser, Keys
from long_part import long_part
from paint import dropped

# What pedals send, by how they are set.
ON = [Keys.PAGE_DOWN, Keys.ARROW_RIGHT, Keys.ARROW_DOWN, " ", Keys.ENTER]
BACK = [Keys.PAGE_UP, Keys.ARROW_LEFT, Keys.ARROW_UP]


def four_pages(app: App) -> str:
    file = Path(app.home) / "four-pages.musicxml"
    file.write_text(long_part())
    return dropped(app, str(file))


def on_stand(browser: Browser, path: str) -> None:
    browser.go(path)
    browser.one(".place")
    browser.one(".stand-up").click()
    browser.until(lambda: browser.all("body.on-stand"), "the stand")


def up(browser: Browser) -> list[int]:
    """The pages that are seen, whole: each with its music, nothing of it outside the window."""
    return browser.js(
        """return [...document.querySelectorAll('.sheet-of-paper')].filter((page) => {
             const box = page.getBoundingClientRect();
             return box.width > 100 && box.left >= 0 && box.top >= 0 && box.right <= innerWidth + 1 && box.bottom <= innerHeight + 1;
           }).map((page) => Number(page.dataset.page))"""
    )


def nothing_else(browser: Browser) -> None:
    quiet = browser.js(
        """return !foreread.listen.playing && document.querySelector('.bar-shown').hidden && document.querySelector('.tray').hidden
           && !foreread.paper.round && foreread.paper.opened === null && document.scrollingElement.scrollTop === 0"""
    )
    assert quiet, "a pedal turns pages and does nothing else"


def a_foot_pedal_turns_exactly_a_page(app: App, shot) -> None:
    path = four_pages(app)
    for size, step in [("stand", 1), ("wide", 2)]:
        browser = Browser(app, size, calm=True)
        on_stand(browser, path)
        pages = lambda first: list(range(first, first + step))
        assert up(browser) == pages(0), up(browser)
        browser.until(lambda: not browser.all(".to-come"), "all pages", 60)
        shot(browser, f"stand-{size}-light")
        for key in ON:
            browser.keys(key)
            assert up(browser) == pages(step), (key, up(browser))
            nothing_else(browser)
            browser.keys(Keys.PAGE_UP)
            assert up(browser) == pages(0)
        for key in BACK:
            browser.keys(Keys.PAGE_DOWN)
            browser.keys(key)
            assert up(browser) == pages(0), (key, up(browser))
            nothing_else(browser)
        # Before the first page and after the last nothing turns, and that is said.
        browser.keys(Keys.PAGE_UP)
        assert up(browser) == pages(0) and "first page" in browser.text(".which-page")
        for _ in range(5):
            browser.keys(Keys.PAGE_DOWN)
        assert up(browser) == pages(4 - step) and "last page" in browser.text(".which-page")
        shot(browser, f"stand-last-{size}-light")
        # A touch does it, too: at the left edge back, elsewhere on.
        music = browser.one("div.music").rect
        browser.js("foreread.stand.show(0)")
        touch = lambda x: browser.js("document.elementFromPoint(arguments[0], arguments[1]).dispatchEvent(new MouseEvent('click', { bubbles: true, clientX: arguments[0], clientY: arguments[1] }))", x, music["height"] / 2)
        touch(music["width"] * 0.8)
        assert up(browser) == pages(step)
        touch(music["width"] * 0.1)
        assert up(browser) == pages(0)
        nothing_else(browser)
        # Letters do nothing either; Escape leads back to the desk.
        browser.keys("p", "z", "1")
        nothing_else(browser)
        browser.keys(Keys.ESCAPE)
        assert not browser.all("body.on-stand") and browser.one(".margin").is_displayed()
        assert browser.js("return document.activeElement.matches('.stand-up')")
        browser.close()


def it_plays_on_the_stand_and_a_pedal_still_turns_pages_alone(app: App, shot) -> None:
    path = four_pages(app)
    for size in ["stand", "wide"]:
        browser = Browser(app, size)
        browser.go(path)
        browser.until(lambda: browser.all(".place") and not browser.all(".to-come"), "all pages", 60)
        step = 2 if size == "wide" else 1
        # Two bars on both sides of a turn, round and round.
        turn = browser.js("return Math.min(...[...document.querySelectorAll(`.sheet-of-paper[data-page=\"${arguments[0]}\"] .place`)].map((p) => +p.dataset.bar))", step)
        browser.js("foreread.paper.chooseRound([arguments[0] - 1, arguments[0]])", turn)
        browser.js("document.querySelector('[name=\"count-in\"]').click()")
        browser.one(".stand-up").click()
        tempo = lambda: int(browser.text(".tempo-now").split("=")[1])
        before = tempo()
        browser.one(".stand-tools .slower").click()
        assert tempo() < before, (before, tempo())
        browser.one(".stand-tools .faster").click()
        assert tempo() >= before, (before, tempo())
        assert browser.js("return document.activeElement.matches('.music')"), "the keys are the pedal's again"
        browser.one(".stand-tools .play").click()
        playing = lambda: browser.js("return foreread.listen.playing")
        browser.until(playing, "sound", 60)
        assert browser.text(".stand-tools .play") == "Stop"
        browser.until(lambda: browser.all(".pencil-tip") and browser.one(".pencil-tip").is_displayed(), "where the music is")
        shot(browser, f"stand-plays-{size}")
        # The music turns the page at the line's end, and back to the beginning of what goes round.
        browser.until(lambda: up(browser) == list(range(step, step + step)), "turned by the music", 40)
        browser.until(lambda: up(browser) == list(range(step)), "and back", 40)
        # A pedal turns, and stops nothing; what she turned on stays until the music is there.
        for key in [*ON, *BACK]:
            seen = browser.js("return foreread.stand.at")
            browser.keys(key)
            assert playing(), (key, "a pedal stops no music")
            assert browser.js("return document.querySelector('.bar-shown').hidden && foreread.paper.opened === null"), key
            assert seen is not None
        browser.js("foreread.stand.show(0); foreread.stand.ahead = false")
        browser.keys(Keys.PAGE_DOWN, Keys.PAGE_DOWN) if step == 1 else browser.keys(Keys.PAGE_DOWN)
        ahead = browser.js("return foreread.stand.at")
        browser.js("foreread.stand.show(0)")
        assert browser.js("return foreread.stand.at") == ahead, "the music turns no page back that she has turned on"
        browser.keys(Keys.ESCAPE)
        browser.until(lambda: not playing(), "silence")
        assert browser.all("body.on-stand") and browser.text(".stand-tools .play") == "Play"
        assert not browser.slips()
        browser.close()


def the_stand_is_turned_over_and_what_is_seen_stays(app: App, shot) -> None:
    path = four_pages(app)
    browser = Browser(app, "stand", calm=True)
    on_stand(browser, path)
    for _ in range(3):
        browser.keys(Keys.PAGE_DOWN)
    assert up(browser) == [3]
    metrics = {"width": 1180, "height": 820, "deviceScaleFactor": 1, "mobile": False}
    browser.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    browser.until(lambda: up(browser) == [2, 3], "the two that belong together")
    browser.close()


def large_print_and_a_dark_room_on_the_stand(app: App, shot) -> None:
    path = four_pages(app)
    for size in ["stand", "wide"]:
        browser = Browser(app, size, dark=True, calm=True)
        on_stand(browser, path)
        shot(browser, f"stand-{size}-dark")
        # As high as the first line is.
        bars = lambda: browser.js("return document.querySelectorAll('.sheet-of-paper[data-page=\"0\"] .place').length")
        before = bars()
        browser.one(".stand-tools .large").click()
        browser.until(lambda: "print=large" in browser.driver.current_url and browser.all("body.on-stand .place"), "large print", 60)
        assert bars() < 0.75 * before, (bars(), before)
        assert browser.one(".stand-tools .large").get_attribute("aria-pressed") == "true"
        pages = len(browser.all(".sheet-of-paper"))
        assert pages > 4, pages
        shot(browser, f"stand-large-{size}-dark")
        browser.one(".stand-tools .large").click()
        browser.until(lambda: "print=large" not in browser.driver.current_url and bars() == before, "the usual size", 60)
        assert browser.all("body.on-stand")
        browser.close()


def printed_it_is_the_part_alone(app: App, shot) -> None:
    path = four_pages(app)
    browser = Browser(app, "stand", dark=True, calm=True)
    for stand in [False, True]:
        browser.go(path)
        browser.until(lambda: browser.all(".place") and not browser.all(".to-come"), "all pages", 60)
        if stand:
            browser.one(".stand-up").click()
        made = browser.driver.execute_cdp_cmd("Page.printToPDF", {"paperWidth": 8.27, "paperHeight": 11.69, "printBackground": True})
        pdf = base64.b64decode(made["data"])
        keep(f"part-printed-{'stand' if stand else 'desk'}.pdf", pdf)
        papers = len(re.findall(rb"/Type\s*/Page\b", pdf))
        assert papers == 4, f"four pages are printed on {papers}"
        browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print", "features": [{"name": "prefers-color-scheme", "value": "dark"}]})
        shown = browser.js("return [...document.querySelectorAll('.house, .strip, .tray, .margin, .stand-tools')].filter((one) => one.checkVisibility()).map((one) => one.className)")
        assert not shown, shown
        assert browser.js("return getComputedStyle(document.querySelector('.sheet-of-paper')).color") == "rgb(0, 0, 0)", "black on white in a dark room, too"
        browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": []})
    browser.close()


def keep(name: str, content: bytes) -> None:
    if shots := sys.modules["__main__"].SHOTS:
        shots.mkdir(parents=True, exist_ok=True)
        (shots / name).write_bytes(content)


FLOWS = [
    a_foot_pedal_turns_exactly_a_page,
    it_plays_on_the_stand_and_a_pedal_still_turns_pages_alone,
    the_stand_is_turned_over_and_what_is_seen_stays,
    large_print_and_a_dark_room_on_the_stand,
    printed_it_is_the_part_alone,
]
