//! Does the studio keep what is said, and refuse what can't be? Real requests over real HTTP and a real database, hostile ones too.
//!
//! No press is needed: plans are made, nothing is engraved.

#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that can't go on has failed"
)]

mod common;

use common::{Running, start};
use serde_json::{Value, json};

const HOSTILE: &str = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>";

fn between(text: &str, before: &str, after: &str) -> String {
    let rest = text
        .split_once(before)
        .unwrap_or_else(|| panic!("no {before} in {text}"))
        .1;
    rest.split(after).next().unwrap().to_owned()
}

/// What is sent is JSON.
const JSON: (&str, &str) = ("content-type", "application/json");

/// How a page of the studio asks.
trait Studio {
    fn page(&self, path: &str) -> String;
    fn post(&self, path: &str, what: &Value) -> (u16, String);
    fn go(&self, path: &str, what: &Value) -> String;
    fn refused(&self, path: &str, what: &Value, words: &str);
    fn player(&self, name: &str) -> String;
}

impl Studio for Running {
    fn page(&self, path: &str) -> String {
        let answer = self.get(path);
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
        answer.body
    }

    fn post(&self, path: &str, what: &Value) -> (u16, String) {
        let headers = [JSON, ("x-foreread-secret", self.secret.as_str())];
        let answer = self.ask(&format!("POST {path}"), &headers, what.to_string().as_bytes());
        (answer.status, answer.body)
    }

    /// Posts what is taken, and says where the browser goes.
    fn go(&self, path: &str, what: &Value) -> String {
        let (status, body) = self.post(path, what);
        assert_eq!(status, 200, "{path}: {body}");
        serde_json::from_str::<Value>(&body).unwrap()["go"]
            .as_str()
            .unwrap()
            .to_owned()
    }

    fn refused(&self, path: &str, what: &Value, words: &str) {
        let (status, body) = self.post(path, what);
        assert_eq!(status, 400, "{path}: {body}");
        assert!(
            body.to_lowercase().contains(&words.to_lowercase()),
            "{words} not in {body}"
        );
    }

    /// The address of a demo player's page.
    fn player(&self, name: &str) -> String {
        let page = self.page("/studio");
        let at = page.find(&format!("\">{name}</a>")).unwrap();
        let before = &page[..at];
        before.rsplit("href=\"").next().unwrap().to_owned()
    }
}

fn harmless(page: &str) {
    assert!(
        !page.contains("<script>alert") && !page.contains("<img src=x"),
        "{page}"
    );
}

#[test]
fn players_come_change_and_leave_and_their_names_are_never_markup() {
    let app = start("players");
    let home = app.go(
        "/studio/players",
        &json!({ "name": HOSTILE, "instrument": "Flute", "level": "elementary", "low": "C4", "high": "G5", "breath": "9,5", "notes": HOSTILE }),
    );
    let page = app.page(&home);
    harmless(&page);
    assert!(
        page.contains("&lt;script&gt;alert(1)"),
        "it stands there as words"
    );
    assert!(
        page.contains("Flute · elementary · C4 to G5 · breath 9.5 s"),
        "{page}"
    );
    harmless(&app.page("/studio"));
    harmless(&app.page("/today"));
    let today = home.replace("/studio/player", "/today");
    harmless(&app.page(&today));
    // What can't be is refused, and nothing of it is kept.
    app.refused(
        &home,
        &json!({ "name": "Ada", "instrument": "Kazoo-o-phone" }),
        "Kazoo-o-phone",
    );
    app.refused(&home, &json!({ "name": "Ada", "low": "C4" }), "two ends");
    app.refused(&home, &json!({ "name": " " }), "name");
    app.refused(&home, &json!({ "name": "x".repeat(200) }), "letters");
    assert!(app.page(&home).contains("Flute · elementary"));
    // Without the page's secret nothing is changed.
    assert_eq!(
        app.ask(&format!("POST {home}"), &[JSON], b"{\"name\":\"Eve\"}")
            .status,
        403
    );
    app.go(
        &home,
        &json!({ "name": "Ada", "instrument": "Flute", "level": "advanced" }),
    );
    assert!(app.page(&home).contains("Flute · advanced"));
    // Put away, and brought back.
    assert_eq!(
        app.go(&format!("{home}/away"), &json!({ "away": true })),
        "/studio"
    );
    assert!(!app.page("/studio").contains(">Ada</a>"));
    assert!(app.page("/studio?away=true").contains(">Ada</a>"));
    app.go(&format!("{home}/away"), &json!({ "away": false }));
    assert!(app.page("/studio").contains(">Ada</a>"));
    // A file written by hand stays as it is while nothing of it changes.
    assert_eq!(app.post("/studio/player/99999", &json!({ "name": "x" })).0, 404);
}

#[test]
fn pieces_are_assigned_with_cuts_and_days_are_counted_down() {
    let app = start("assign");
    let home = app.go(
        "/studio/players",
        &json!({ "name": "Ada", "instrument": "Flute" }),
    );
    let page = app.page(&home);
    let options = between(&page, "<select name=\"piece\">", "</select>");
    let kite = between(&options, "choose</option><option value=\"", "\"");
    app.refused(
        &format!("{home}/assign"),
        &json!({ "piece": "" }),
        "no piece is chosen",
    );
    app.refused(
        &format!("{home}/assign"),
        &json!({ "piece": kite, "until": "2027-02-30" }),
        "no day",
    );
    app.go(
        &format!("{home}/assign"),
        &json!({ "piece": kite, "goal": HOSTILE, "note": HOSTILE, "from_memory": true }),
    );
    let page = app.page(&home);
    harmless(&page);
    assert!(page.contains("From memory.") && page.contains("no day is set"));
    let assignment = between(&page, &format!("data-to=\"{home}/assignment/"), "\"");
    let assignment = format!("{home}/assignment/{assignment}");
    app.refused(
        &format!("{assignment}/cuts"),
        &json!({ "bars": "900-901" }),
        "there is no bar 900",
    );
    app.refused(
        &format!("{assignment}/cuts"),
        &json!({ "bars": "4-2" }),
        "backwards",
    );
    app.go(
        &format!("{assignment}/cuts"),
        &json!({ "bars": "1-4", "name": "A" }),
    );
    assert!(app.page(&home).contains("A: bars 1–4"));
    // Another player's assignment is not hers.
    let other = app.player("Wren Halloran");
    assert_eq!(
        app.post(&assignment.replace(&home, &other), &json!({ "goal": "" }))
            .0,
        404
    );
    // A day ahead is found by its name.
    let id = home.rsplit('/').next().unwrap();
    app.go(
        "/studio/days",
        &json!({ "date": "2999-05-01", "name": HOSTILE, "kind": "concert", "players": [id] }),
    );
    app.refused(
        "/studio/days",
        &json!({ "date": "", "name": "x" }),
        "day is missing",
    );
    let studio = app.page("/studio");
    harmless(&studio);
    assert!(studio.contains("1 May 2999"));
    app.go(
        &format!("{home}/practice"),
        &json!({ "minutes": "20", "off": "sun", "at": "17:30" }),
    );
    assert!(
        app.page(&home)
            .contains("20 minutes a day, rests included; off: sun; at 17:30.")
    );
    app.refused(
        &format!("{home}/practice"),
        &json!({ "minutes": "0" }),
        "minutes a day",
    );
    app.refused(
        &format!("{home}/practice"),
        &json!({ "minutes": "20", "off": "someday" }),
        "someday",
    );
    app.refused(
        &format!("{home}/practice"),
        &json!({ "minutes": "20", "at": "noon" }),
        "time of day",
    );
    app.go(&assignment, &json!({ "done": true }));
    assert!(app.page(&home).contains("Done with"));
    app.go(&format!("{assignment}/back"), &json!({}));
    assert!(!app.page(&home).contains("Done with</summary>"));
}

/// The turns of a page: name, and whether it asks for three in a row.
fn turns(page: &str) -> Vec<(String, bool)> {
    page.split("data-turn=\"")
        .skip(1)
        .map(|turn| {
            (
                turn.split('"').next().unwrap().to_owned(),
                turn.contains("Three in a row"),
            )
        })
        .collect()
}

#[test]
fn what_is_logged_is_kept_once_and_changes_the_next_sitting() {
    let app = start("today");
    let home = app.player("Pernille Askew");
    let today = home.replace("/studio/player", "/today");
    app.go(&format!("{home}/practice"), &json!({ "minutes": "30" }));
    let page = app.page(&today);
    assert!(
        page.contains("Pain means stop"),
        "cautions stand where practice is shown"
    );
    let program = between(&page, "data-program=\"", "\"");
    let on = between(&page, "data-on=\"", "\"");
    let (turn, _) = turns(&page)
        .into_iter()
        .find(|(name, passage)| *passage && name.starts_with("spot"))
        .unwrap();
    let with = |more: Value| {
        let mut what = json!({ "program": program, "on": on, "turn": turn });
        what.as_object_mut()
            .unwrap()
            .extend(more.as_object().unwrap().clone());
        what
    };
    // A tick stays.
    assert_eq!(
        app.post(
            &format!("{today}/tick"),
            &with(json!({ "rung": 0, "ticked": true }))
        )
        .0,
        200
    );
    assert!(app.page(&today).contains("data-rung=\"0\" checked"));
    assert_eq!(
        app.post(
            &format!("{today}/tick"),
            &with(json!({ "rung": 99, "ticked": true }))
        )
        .0,
        400
    );
    assert_eq!(
        app.post(
            &format!("{today}/tick"),
            &with(json!({ "rung": 0, "ticked": false }))
        )
        .0,
        200
    );
    // What can't be is refused.
    app.refused(
        &format!("{today}/log"),
        &with(json!({ "clean": 3, "felt": "<b>" })),
        "can't have felt",
    );
    let (status, body) = app.post(
        &format!("{today}/log"),
        &json!({ "program": program, "on": "1999-01-01", "turn": turn }),
    );
    assert!(status == 400 && body.contains("another day"), "{body}");
    app.refused(
        &format!("{today}/log"),
        &json!({ "program": program, "on": on, "turn": "spot-0-1-2-9" }),
        "changed",
    );
    app.refused(
        &format!("{today}/log"),
        &json!({ "program": "nothing", "on": on, "turn": turn }),
        "changed",
    );
    assert_eq!(
        app.ask(
            &format!("POST {today}/log"),
            &[JSON],
            with(json!({ "clean": 3 })).to_string().as_bytes()
        )
        .status,
        403
    );
    assert!(
        !app.page(&home).contains("The last visits"),
        "nothing was written down"
    );
    // One touch; touched twice it is still one visit.
    for _ in 0..2 {
        let (status, body) = app.post(
            &format!("{today}/log"),
            &with(json!({ "clean": 0, "felt": "hard", "minutes": 2.5 })),
        );
        assert_eq!(status, 200, "{body}");
        assert!(
            body.contains("not yet at") && body.contains("felt hard"),
            "{body}"
        );
    }
    let record = app.page(&home);
    assert!(record.contains("The last visits (1 in all)"), "{record}");
    assert!(
        record.contains("1, 2 min") || record.contains("1, 3 min"),
        "its minutes count"
    );
    let page = app.page(&today);
    assert!(page.contains("turn over") && page.contains("not yet at"));
    let next = between(&page, "class=\"tomorrow\"", "</section>");
    let again =
        next.contains("stuck on") || next.contains("not yet clean on") || next.contains("not touched");
    assert!(again, "what stuck comes again, and says so: {next}");
    // The sitting of today itself stays as it was.
    assert!(turns(&page).iter().any(|(name, _)| *name == turn));
    // Struck out, it is gone from the log, and the next sitting forgets it.
    assert_eq!(app.post(&format!("{today}/strike"), &with(json!({}))).1, "true");
    assert_eq!(app.post(&format!("{today}/strike"), &with(json!({}))).1, "false");
    assert!(!app.page(&home).contains("The last visits"));
    let page = app.page(&today);
    assert!(!page.contains("turn over"));
    assert!(!between(&page, "class=\"tomorrow\"", "</section>").contains("stuck on"));
}

#[test]
fn calls_are_read_as_lists_say_them_and_wrong_lines_are_named() {
    let app = start("calls");
    let studio = app.page("/studio");
    let call = format!("/studio/call/{}", between(&studio, "href=\"/studio/call/", "\""));
    let page = app.page(&call);
    for words in [
        "beat 3 of bar 4 through",
        "0:31 to 0:34",
        "from memory",
        "misprint",
        "The hearing begins at nine",
    ] {
        assert!(page.contains(words), "{words}");
    }
    let since = app.page(&format!("{call}?since=2026-11-25"));
    let changed = between(&since, "What changed", "Change the call");
    assert!(changed.contains("1 Dec 2026") && !changed.contains("The hearing begins at nine"));
    app.refused("/studio/calls", &json!({ "text": "name = \"x\"\n[[pieces]]\nfile = \"a\"\n[[pieces.cuts]]\nbars = \"somewhere nice\"\n" }), "line 5");
    let text = format!(
        "name = {}\ndate = 2999-01-01\n[[pieces]]\nfile = \"../../etc/passwd\"\n",
        json!(HOSTILE)
    );
    let hostile = app.go("/studio/calls", &json!({ "text": text }));
    let page = app.page(&hostile);
    harmless(&page);
    assert!(
        page.contains("is no piece of the folder yet"),
        "no file of this machine is read: {page}"
    );
    harmless(&app.page("/studio"));
    app.go(&format!("{hostile}/back"), &json!({}));
    assert_eq!(app.get(&hostile).status, 404);
    // Its players get what it asks for, each her own piece.
    let ivo = app.page(&app.player("Ivo Tarrant").replace("/studio/player", "/today"));
    assert!(ivo.contains("The Causeway at Dusk, cut A") && !ivo.contains("Kite Weather"));
}

#[test]
fn nothing_is_judged_without_its_rubric() {
    let app = start("judge");
    app.refused(
        "/studio/rubrics",
        &json!({ "name": "mine", "lines": "Tone" }),
        "how much it gives",
    );
    app.go(
        "/studio/rubrics",
        &json!({ "name": HOSTILE, "lines": format!("{HOSTILE} | 10 | free\nRhythm | 5") }),
    );
    app.go("/studio/rubrics", &json!({ "begin_with": "0" }));
    let page = app.page("/studio/rubrics");
    harmless(&page);
    assert!(page.contains("15 points in all") && page.contains("Source: "));
    let rubric = between(&page, "data-to=\"/studio/rubric/", "\"");
    let home = app.player("Wren Halloran");
    let wren = home.rsplit('/').next().unwrap().to_owned();
    let piece = between(&app.page(&home), "/studio/judge?player=", "\"");
    let piece = piece.rsplit("piece=").next().unwrap().to_owned();
    harmless(&app.page(&format!(
        "/studio/judge?player={wren}&piece={piece}&rubric={rubric}"
    )));
    let marks = |points: &str| json!({ "player": wren, "piece": piece, "rubric": rubric, "points.0": points, "words.0": HOSTILE });
    app.refused("/studio/judge", &marks("11"), "from 0 to 10");
    app.go("/studio/judge", &marks("8,5"));
    let record = app.page(&home);
    harmless(&record);
    assert!(
        record.contains("8.5 of 10") && record.contains("(1 line not judged)"),
        "{record}"
    );
    // What was judged by it keeps its meaning.
    app.refused(
        &format!("/studio/rubric/{rubric}"),
        &json!({ "name": "mine", "lines": "Tone | 20" }),
        "was judged",
    );
    app.refused(
        &format!("/studio/rubric/{rubric}/back"),
        &json!({}),
        "judged by this rubric",
    );
}
