"""Does it still look as it did? Small grey pictures of the screens, compared place by place; FOREREAD_BLESS=1 draws them anew.

A picture is 320 pixels wide, in 16 greys. It is compared in squares of 4 by 4 pixels, so that letters drawn a little otherwise don't matter, and fails
where squares together as large as a button have become darker or lighter. The app is told which day it is, so that the days and plans on the screens
are the same whenever it is looked at; moments by the clock (a take, a look) are shown with each digit as 0. The weeks of a player who looked are left
out: they are counted by the clock.
"""

import base64
import functools
import io
import os
import time
from pathlib import Path

from PIL import Image, ImageChops

import devices
from browser import SIZES, App, Browser
from reach import SCREENS

FOLDER = Path(__file__).resolve().parent / "seen"
WIDTH = 320
SQUARE = 4
# Of 255 greys: what letters may differ by when they are smoothed otherwise, once a square's pixels are taken together.
GREYS = 20
# Squares that may differ all the same: in all, a word of four letters.
SQUARES = 12
STEADY = [
    "folder", "side by side", "part", "bar", "pencil", "on the stand", "part in large print", "look first", "look, to begin", "looking", "seen", "rubrics", "judging", "no such page", "hand-out",
    "decisions", "book", "takes", "recorded", "take", "held against the page", "today", "sitting", "studio", "player", "call", "devices",
]
DATED = "const dated = (node) => { for (const one of node.childNodes) { if (one.nodeType === 3) one.data = one.data.replace(/\\d/g, '0'); else dated(one); } }; document.querySelectorAll('.when, .clock .left, time').forEach(dated);"


def shown(browser: Browser, name: str, size: str) -> Image.Image:
    if name == "pairing":
        browser.go("/pair")
        browser.one("#code")
    else:
        SCREENS[name](browser)
    drawn = "return [...document.querySelectorAll('.opening')].filter((one) => one.getBoundingClientRect().top < innerHeight).every((one) => one.querySelector('svg'))"
    if name in ["folder", "side by side"]:
        browser.until(lambda: browser.js(drawn), "openings", 60)
    return still(browser, size)


def still(browser: Browser, size: str) -> Image.Image:
    """The screen once nothing more comes: two pictures, one after the other, are the same."""
    before = picture(browser, size)
    for _ in range(20):
        time.sleep(0.4)
        now = picture(browser, size)
        if otherwise(before, now) == 0:
            return now
        before = now
    raise AssertionError("the screen does not come to rest")


def picture(browser: Browser, size: str) -> Image.Image:
    width, height = SIZES[size]
    browser.js("if (window.foreread?.clock) { foreread.clock.stop(); document.querySelector('.clock .rest')?.setAttribute('d', 'M0 2L50 2'); }")
    browser.js(DATED)
    browser.js("document.activeElement?.blur(); window.scrollTo(0, 0)")
    browser.until(lambda: browser.js("return document.fonts.status === 'loaded'"), "letters")
    clip = {"x": 0, "y": 0, "width": width, "height": height, "scale": 1}
    made = browser.driver.execute_cdp_cmd("Page.captureScreenshot", {"format": "png", "clip": clip})
    whole = Image.open(io.BytesIO(base64.b64decode(made["data"]))).convert("L")
    return whole.resize((WIDTH, round(height * WIDTH / width)), Image.Resampling.BOX).quantize(16, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)


def otherwise(one: Image.Image, other: Image.Image) -> int:
    """How many squares differ."""
    if one.size != other.size:
        return 10**6
    squares = (one.width // SQUARE, one.height // SQUARE)
    coarse = lambda image: image.resize(squares, Image.Resampling.BOX)
    one, other = one.convert("L"), other.convert("L")
    # A line that lies a pixel higher or farther left is the same line.
    beside = [ImageChops.offset(other, x, y) for x in (-1, 0, 1) for y in (-1, 0, 1)]
    least = functools.reduce(ImageChops.darker, (ImageChops.difference(coarse(one), coarse(moved)) for moved in beside))
    return sum(least.histogram()[GREYS:])


def a_change_of_a_button_is_seen_and_other_letters_are_not() -> None:
    """The comparison itself: it must be able to fail."""
    plain = Image.new("L", (320, 200), 240)
    button = plain.copy()
    button.paste(90, (40, 40, 76, 50))
    assert otherwise(plain, button) > SQUARES
    # A word that is no longer there, and one that has moved by its own height.
    word = plain.copy()
    for x in range(60, 92, 2):
        word.paste(40, (x, 100, x + 1, 106))
    assert otherwise(plain, word) > SQUARES, otherwise(plain, word)
    assert otherwise(word, ImageChops.offset(word, 0, 8)) > SQUARES
    assert otherwise(word, ImageChops.offset(word, 1, 0)) == 0
    softer = button.copy()
    softer.paste(100, (40, 40, 76, 50))
    assert otherwise(button, softer) == 0


class Kept:
    """The pictures that were kept, and what looks otherwise now."""

    def __init__(self, shot):
        self.bless = bool(os.environ.get("FOREREAD_BLESS"))
        self.shot, self.wrong = shot, []
        FOLDER.mkdir(exist_ok=True)

    def compare(self, browser: Browser, name: str, size: str) -> None:
        now = shown(browser, name, size)
        file = FOLDER / f"{name.replace(', ', '-').replace(' ', '-')}-{size}.png"
        if self.bless:
            # What is the same to the eye stays the same file.
            if not file.is_file() or otherwise(Image.open(file), now) > SQUARES:
                now.save(file, optimize=True)
        elif not file.is_file():
            self.wrong.append(f"{file.name}: there is no picture yet; FOREREAD_BLESS=1 draws it")
        # Looked at a second time, so that a moment of loading is no change.
        elif otherwise(Image.open(file), now) > SQUARES and (many := otherwise(Image.open(file), shown(browser, name, size))) > SQUARES:
            self.wrong.append(f"{file.name}: {many} squares look otherwise")
            self.shot(browser, f"otherwise-{file.stem}")


def every_screen_looks_as_it_did(app: App, shot) -> None:
    a_change_of_a_button_is_seen_and_other_letters_are_not()
    kept = Kept(shot)
    for size in ["stand", "desk"]:
        browser = Browser(app, size, calm=True)
        browser.driver.set_script_timeout(120)
        for name in STEADY:
            kept.compare(browser, name, size)
        browser.close()
    house = devices.House("")
    try:
        for size in ["stand", "desk"]:
            at_door = Browser(devices.Door(house), size, calm=True)
            kept.compare(at_door, "pairing", size)
            at_door.close()
    finally:
        house.close()
    assert not kept.wrong, kept.wrong


FLOWS = [every_screen_looks_as_it_did]
