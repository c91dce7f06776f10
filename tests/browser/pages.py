"""Printed pages dropped into the folder: read into a piece that can be opened; what is no music is refused, and nothing is kept of it."""

import random
import subprocess
import tempfile
import time
from pathlib import Path

from PIL import Image

from browser import HOUSE, App, Browser, program

PIECE = HOUSE / "demo/pieces/kite_weather.musicxml"


def brought(browser: Browser, *files: Path) -> list[str]:
    """Files dropped in together, and what is said of each once all is said."""
    browser.one("#files").send_keys("\n".join(map(str, files)))
    done = lambda: len(browser.all(".came li")) >= len(files) and "…" not in browser.text(".came")
    browser.until(done, "all files", 240)
    return [line.text for line in browser.all(".came li")]


def printed_pages_become_a_piece(app: App, shot) -> None:
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "printed kite.pdf"
        subprocess.run([program(), "mark", str(PIECE), "--edition", "clean", "--to", str(page)], check=True, capture_output=True)
        browser = Browser(app)
        browser.go("/")
        titles = lambda: browser.js("return [...document.querySelectorAll('a.piece-title')].map(t => t.textContent)")
        before = len(titles())
        started = time.monotonic()
        said = brought(browser, page)[0]
        print(f"    a printed page was in the folder after {time.monotonic() - started:.1f} s")
        assert "Read from 1 page" in said and "doubtful" in said and "all bars add up" in said, said
        browser.until(lambda: len(titles()) == before + 1, "the piece")
        came = browser.one(".came a").get_attribute("href").split("?")[0].rsplit("/", 1)[-1]
        of_card = lambda card: card.find_element("css selector", "a.piece-title").get_attribute("href")
        card = next(card for card in browser.all(".piece") if came in of_card(card))
        # Source: demo/pieces/kite_weather.musicxml: its title, 46 bars, two sharps, four four.
        assert "Kite Weather" in card.text, card.text
        assert "46 bars" in card.text and "4/4" in card.text and "2 sharps" in card.text, card.text
        shot(browser, "pages-read-desk")
        browser.one(".came a").click()
        browser.until(lambda: browser.all(".desk .place"), "the part", 60)
        assert len({place.get_attribute("data-bar") for place in browser.all(".place")}) == 46
        shot(browser, "pages-part-desk")
        # The same once more is there already.
        browser.go("/")
        assert "in the folder already" in brought(browser, page)[0]
        assert len(titles()) == before + 1
        # No page, a page without music, noise, a piece cut off, and more than any scan.
        broken, white, noise, cut, huge = (Path(folder) / name for name in ["broken.pdf", "white.png", "noise.png", "cut.pdf", "huge.png"])
        broken.write_bytes(b"%PDF-1.7\n" + bytes(random.Random(1).randrange(256) for _ in range(4000)))
        Image.new("L", (1200, 1600), 255).save(white)
        Image.frombytes("L", (700, 900), random.Random(2).randbytes(700 * 900)).save(noise)
        cut.write_bytes(page.read_bytes()[:2000])
        Image.new("L", (20000, 20000), 255).save(huge)
        browser.go("/")
        for name, words in zip([broken, white, noise, cut, huge], brought(browser, broken, white, noise, cut, huge)):
            print(f"    {words}")
            assert name.name in words and "is in the folder" not in words and len(words) > len(name.name) + 30, words
        assert len(titles()) == before + 1, titles()
        shot(browser, "pages-refused-desk")
        refused = [slip for slip in browser.slips() if "/folder/files" not in slip]
        assert not refused, refused
        browser.close()


FLOWS = [printed_pages_become_a_piece]
