"""The flows of the studio and of today: who plays, what is assigned, a sitting from its first turn to what it changes tomorrow."""

import time

from browser import App, Browser, Keys

HOSTILE = "<img src=x onerror=\"document.title='owned'\">"


def clean(browser: Browser) -> None:
    """No complaint of the browser, no address but ours, nothing hanging out at the side."""
    assert not (slips := browser.slips()), slips
    elsewhere = [a for a in browser.asked() if not a.startswith((browser.app.address, "data:", "blob:", "about:", "chrome:"))]
    assert not elsewhere, elsewhere
    assert browser.js("return document.documentElement.scrollWidth <= innerWidth"), "nothing hangs out at the side"


def player(browser: Browser, name: str) -> None:
    """From the studio to a player's page."""
    browser.go("/studio")
    next(link for link in browser.until(lambda: browser.all(".players h3 a"), "players") if link.text == name).click()
    browser.until(lambda: says(browser, "h1") == name, name)


def sitting(browser: Browser, name: str) -> None:
    """From today's list to a player's sitting."""
    browser.go("/today")
    next(link for link in browser.until(lambda: browser.all(".who a"), "players") if link.text == name).click()
    browser.until(lambda: browser.all(".turn"), "the sitting", 60)


def passage(browser: Browser):
    """The first turn on a passage."""
    return next(turn for turn in browser.all(".turn") if turn.find_elements("css selector", '[data-clean="3"]'))


def says(browser: Browser, css: str) -> str:
    """The words of a place now, whether or not the page is just being loaded anew."""
    return browser.js("return document.querySelector(arguments[0])?.innerText ?? ''", css)


def in_turn(turn, css: str):
    return turn.find_elements("css selector", css)


def a_player_comes_is_given_a_piece_and_words_are_never_markup(app: App, shot) -> None:
    browser = Browser(app)
    browser.go("/studio")
    shot(browser, "studio-desk")
    add = next(d for d in browser.all("details.add") if "Add a player" in d.text)
    add.find_element("css selector", "summary").click()
    name = add.find_element("css selector", "[name=name]")
    name.send_keys("Ada ", HOSTILE)
    add.find_element("css selector", "[name=instrument]").send_keys("Kazoo-o-phone")
    add.find_element("css selector", "button[type=submit]").click()
    browser.until(lambda: "Kazoo-o-phone" in add.find_element("css selector", ".slip-said").text, "what is wrong")
    assert name.get_attribute("value").startswith("Ada"), "nothing typed is lost"
    field = add.find_element("css selector", "[name=instrument]")
    field.clear()
    field.send_keys("Flute")
    add.find_element("css selector", "button[type=submit]").click()
    browser.until(lambda: says(browser, "h1").startswith("Ada <img"), "her page")
    works = browser.one("section.works details.add")
    works.find_element("css selector", "summary").click()
    select = works.find_element("css selector", "[name=piece]")
    next(o for o in select.find_elements("css selector", "option") if o.text == "Kite Weather").click()
    works.find_element("css selector", "[name=note]").send_keys(HOSTILE)
    works.find_element("css selector", "button[type=submit]").click()
    browser.until(lambda: "Kite Weather" in says(browser, "ol.given"), "the piece")
    assert browser.js("return document.title") != "owned" and not browser.all("main img")
    shot(browser, "player-desk")
    browser.slips()  # the refused form is a mistake on purpose
    browser.go("/today")
    assert any("Ada <img" in a.text for a in browser.all(".who a"))
    clean(browser)
    browser.close()


def a_sitting_is_ticked_written_down_by_one_touch_and_changes_tomorrow(app: App, shot) -> None:
    browser = Browser(app, "stand", calm=True)
    sitting(browser, "Casimir Dole")
    assert "Pain means stop" in browser.text(".cautions")
    turn = passage(browser)
    browser.js("arguments[0].scrollIntoView({block: 'start'})", turn)
    browser.until(lambda: in_turn(turn, ".engraved svg"), "its notes", 60)
    assert in_turn(turn, ".engraved svg path"), "engraved"
    assert in_turn(turn, ".engraved figcaption p") and in_turn(turn, ".of-drill")[0].is_displayed(), "a drill, to be taken along"
    drill = in_turn(turn, ".of-drill a")[0].get_attribute("href")
    form = browser.js("return fetch(arguments[0]).then((a) => a.text())", drill)
    assert "<score-partwise" in form, "it opens as notation"
    shot(browser, "today-stand-light")
    in_turn(turn, ".rung")[0].click()
    before = says(browser, ".tomorrow")
    name = turn.get_attribute("data-turn")
    in_turn(turn, '[data-clean="0"]')[0].click()
    browser.until(lambda: "not yet" in in_turn(turn, ".said-of-it")[0].text, "written down")
    browser.until(lambda: says(browser, ".tomorrow") not in ("", before), "tomorrow changes", 60)
    assert "stuck on" in browser.text(".tomorrow") or "not yet clean on" in browser.text(".tomorrow"), browser.text(".tomorrow")
    assert browser.all(".bars-drawn .tried"), "a ring where it was tried"
    browser.go(browser.driver.current_url.removeprefix(app.address))
    turn = browser.one(f'[data-turn="{name}"]')
    assert "over" in turn.get_attribute("class") and in_turn(turn, ".rung")[0].is_selected(), "kept"
    in_turn(turn, ".strike")[0].click()
    browser.until(lambda: not in_turn(turn, ".over-said")[0].is_displayed(), "struck out")
    in_turn(turn, '[data-clean="3"]')[0].click()
    browser.until(lambda: browser.all(".bars-drawn .top"), "a column where it is in hand", 60)
    browser.js("document.querySelector('.how-far').scrollIntoView()")
    shot(browser, "how-far-stand-light")
    clean(browser)
    browser.close()


def the_timer_goes_from_turn_to_turn_and_hurries_nobody(app: App, shot) -> None:
    browser = Browser(app, "wide", calm=True)
    player(browser, "Berit Oakshott")
    when = browser.one("section.when details")
    when.find_element("css selector", "summary").click()
    minutes = when.find_element("css selector", "[name=minutes]")
    minutes.clear()
    minutes.send_keys("75")
    when.find_element("css selector", "button[type=submit]").click()
    browser.until(lambda: "75 minutes a day" in says(browser, "section.when"), "the minutes")
    sitting(browser, "Berit Oakshott")
    assert browser.all(".turn.rest"), "more than an hour has a rest in it"
    now = lambda: browser.js("return document.querySelector('.turn.now')?.dataset.turn ?? null")
    browser.js("document.activeElement.blur()")
    browser.keys(" ")
    first = browser.until(now, "the first turn")
    browser.until(lambda: browser.text(".timer .begin") == "Pause", "it runs")
    left = browser.text(".timer .left")
    browser.until(lambda: browser.text(".timer .left") != left, "time passes")
    browser.keys(Keys.PAGE_DOWN)
    second = browser.until(lambda: now() not in (None, first) and now(), "the next turn by a pedal")
    browser.js("const t = foreread.timer; t.spent.set(t.turn, Number(t.turn.dataset.secs) * 1000)")
    browser.until(lambda: "is up" in says(browser, ".timer .now") or "Rested" in says(browser, ".timer .now"), "its time is up")
    time.sleep(1.2)
    assert now() == second, "it waits"
    browser.keys(" ")
    browser.until(lambda: browser.text(".timer .begin") == "Go on", "paused")
    browser.driver.refresh()
    browser.until(lambda: browser.all(".turn"), "the sitting", 60)
    assert now() == second, "it is where it was"
    while now() != rests_name(browser):
        browser.one(".timer .next").click()
    assert "resting" in browser.one(".timer").get_attribute("class")
    shot(browser, "rest-wide")
    clean(browser)
    browser.close()


def rests_name(browser: Browser) -> str:
    return browser.one(".turn.rest").get_attribute("data-turn")


def the_keyboard_alone_writes_a_sitting_down(app: App, shot) -> None:
    browser = Browser(app, "desk", calm=True)
    sitting(browser, "Wren Halloran")
    browser.js("document.querySelector('.turn .went').focus()")
    browser.keys(Keys.ENTER)
    browser.until(lambda: browser.js("return document.activeElement.matches('.strike')"), "on to what can be struck out")
    assert browser.text("#said").endswith("Written down."), "it is said to those who listen"
    browser.keys(Keys.TAB)
    assert browser.js("return document.activeElement.closest('.turn') !== null"), "and on to the next turn"
    for field in browser.all("main input, main button, main select, main textarea, main a"):
        if field.is_displayed():
            name = browser.js("const f = arguments[0]; return f.getAttribute('aria-label') || f.textContent.trim() || f.labels?.[0]?.textContent.trim()", field)
            assert name, field.get_attribute("outerHTML")
    clean(browser)
    browser.close()


def week_sheets_calls_and_judging(app: App, shot) -> None:
    browser = Browser(app)
    browser.go("/studio")
    fetched = lambda path: browser.js(
        "return fetch(arguments[0]).then(async (a) => [a.status, a.headers.get('content-disposition'), new TextDecoder('latin1').decode((await a.arrayBuffer()).slice(0, 4))])", path
    )
    browser.driver.set_script_timeout(120)
    ids = [box.get_attribute("value") for box in browser.all(".weeks-form [name=player]")]
    status, disposition, head = fetched("/studio/weeks.pdf?" + "&".join(f"player={i}" for i in ids[:3]))
    assert (status, head) == (200, "%PDF") and "weeks.pdf" in disposition
    player(browser, "Sunniva Rooke")
    for link in browser.all(".handed a"):
        status, disposition, head = fetched(link.get_attribute("href"))
        assert status == 200 and disposition.startswith("attachment"), link.get_attribute("href")
    browser.go("/studio")
    next(a for a in browser.all(".calls a") if "Harbour" in a.text).click()
    browser.until(lambda: browser.all(".of-call table"), "its cuts")
    assert "0:31 to 0:34" in browser.text("main")
    shot(browser, "call-desk")
    browser.go("/studio/rubrics")
    browser.all(".press button")[-1].click()
    browser.until(lambda: browser.all("section.rubric"), "a rubric taken over")
    assert "Source:" in browser.text("section.rubric")
    player(browser, "Wren Halloran")
    next(a for a in browser.all(".given .ways a") if a.text == "Judge it").click()
    browser.one("main ul a").click()
    browser.one('[name="points.0"]').send_keys("3")
    browser.one('[name="words.0"]').send_keys("steadier than last week")
    browser.one(".judging button[type=submit]").click()
    browser.until(lambda: browser.all(".judged"), "in the record")
    assert " by Sight" in browser.text(".judged summary"), "never a mark without its rubric"
    clean(browser)
    browser.close()


def a_call_is_begun_from_the_list_on_paper(app: App, shot) -> None:
    browser = Browser(app)
    browser.go("/studio")
    add = next(d for d in browser.all(".calls details") if d.find_element("css selector", "summary").text == "Add a call")
    browser.js("arguments[0].open = true; arguments[0].scrollIntoView()", add)
    field = lambda name: add.find_element("css selector", f'[name="{name}"]')
    field("name").send_keys('Harbour "B" <b>list</b>')
    browser.js("arguments[0].value = '2027-03-20'", field("date"))
    field("cuts.0").send_keys("A: somewhere nice")
    send = add.find_element("css selector", "button[type=submit]")
    browser.js("arguments[0].click()", send)
    said = lambda: add.find_element("css selector", ".slip-said").text
    browser.until(lambda: "No piece is chosen" in said(), "a piece is missing")
    next(o for o in field("piece.0").find_elements("css selector", "option") if o.text == "The Causeway at Dusk").click()
    browser.js("arguments[0].click()", send)
    browser.until(lambda: "“A: somewhere nice”" in said(), "her own line is named")
    assert "line " not in said().replace("“A: somewhere nice”", ""), said()
    field("cuts.0").clear()
    field("cuts.0").send_keys("A: pickup to 5 through downbeat of 13, ♩ = 66–72\nB: beat 3 of 21 to 28, q = 80-88")
    browser.js("arguments[0].click()", field("memory.0"))
    next(o for o in field("piece.1").find_elements("css selector", "option") if o.text == "Kite Weather").click()
    field("scales").send_keys("G major, two octaves, ♩ = 96")
    field("sight").send_keys("eight bars")
    shot(browser, "call-begun-desk")
    browser.js("arguments[0].click()", send)
    browser.until(lambda: browser.all(".of-call table"), "its cuts", 60)
    words = browser.text("main")
    # As the demo's own call, which says the same in its text.
    assert "0:31 to 0:34" in words and "from memory" in words and "G major, two octaves" in words and "eight bars" in words, words
    assert browser.text("h1") == 'Harbour "B" <b>list</b>'
    refused = [slip for slip in browser.slips() if "/studio/calls/begun" not in slip]
    assert not refused, refused
    clean(browser)
    browser.close()


def the_studio_reads_well_on_a_stand_and_in_the_dark(app: App, shot) -> None:
    for size, dark in [("stand", False), ("stand", True), ("desk", True)]:
        browser = Browser(app, size, dark, calm=True)
        room = "dark" if dark else "light"
        for name, path in [("studio", "/studio"), ("player", "/studio/player/3"), ("call", "/studio/call/1"), ("rubrics", "/studio/rubrics"), ("today", "/today/3")]:
            browser.go(path)
            browser.until(lambda: browser.all("main h2"), name, 60)
            if name == "today":
                browser.until(lambda: browser.all(".engraved svg"), "notes", 60)
            shot(browser, f"{name}-{size}-{room}")
            clean(browser)
        browser.close()


FLOWS = [
    a_player_comes_is_given_a_piece_and_words_are_never_markup,
    a_sitting_is_ticked_written_down_by_one_touch_and_changes_tomorrow,
    the_timer_goes_from_turn_to_turn_and_hurries_nobody,
    the_keyboard_alone_writes_a_sitting_down,
    week_sheets_calls_and_judging,
    a_call_is_begun_from_the_list_on_paper,
    the_studio_reads_well_on_a_stand_and_in_the_dark,
]
