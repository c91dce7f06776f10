//! Who may ask, and what gets onto a page? Real requests over real HTTP, hostile ones first.
//!
//! No press is needed: what is asked for here is refused before anything is engraved, or needs no engraving.

mod common;

use common::{Answer, Running, start};

fn add(app: &Running, name: &str, bytes: &[u8]) -> Answer {
    let secret = app.secret.clone();
    app.ask(
        &format!("POST /folder/files?name={name}"),
        &[("x-foreread-secret", &secret)],
        bytes,
    )
}

#[test]
fn only_this_machines_own_pages_are_answered() {
    let app = start("guard");
    let port = app.port;
    assert_eq!(app.get("/").status, 200);
    assert_eq!(
        app.ask("GET /", &[("Host", &format!("localhost:{port}"))], b"")
            .status,
        200
    );
    // A name of somebody else's that points at this machine (DNS rebinding), another port, no port, two hosts, none.
    for host in [
        "evil.example",
        &format!("evil.example:{port}"),
        "127.0.0.1",
        "127.0.0.1:1",
        &format!("127.0.0.1:{port}.evil.example"),
    ] {
        assert_eq!(app.ask("GET /", &[("Host", host)], b"").status, 403, "{host}");
    }
    let two = format!("127.0.0.1:{port}");
    assert_ne!(
        app.ask("GET /", &[("Host", &two), ("Host", "evil.example")], b"")
            .status,
        200
    );
    assert_ne!(
        app.raw(b"GET / HTTP/1.1\r\nConnection: close\r\n\r\n").status,
        200
    );
    // Pages of others.
    for origin in [
        "https://evil.example",
        "null",
        &format!("https://127.0.0.1:{port}"),
        &format!("http://127.0.0.1:{}", port.wrapping_add(1)),
    ] {
        assert_eq!(
            app.ask("GET /", &[("Origin", origin)], b"").status,
            403,
            "{origin}"
        );
    }
    let fetch = |site: &str, mode: &str, dest: &str| {
        let headers = [
            ("Sec-Fetch-Site", site),
            ("Sec-Fetch-Mode", mode),
            ("Sec-Fetch-Dest", dest),
        ];
        app.ask("GET /", &headers, b"").status
    };
    assert_eq!(fetch("cross-site", "no-cors", "image"), 403);
    assert_eq!(fetch("same-site", "cors", "empty"), 403);
    assert_eq!(fetch("cross-site", "navigate", "iframe"), 403);
    // A link on another page may lead here.
    assert_eq!(fetch("cross-site", "navigate", "document"), 200);
    assert_eq!(fetch("same-origin", "cors", "empty"), 200);
}

#[test]
fn nothing_is_changed_without_the_secret() {
    let app = start("secret");
    let body = b"{\"words\":\"x\"}";
    let json = ("content-type", "application/json");
    assert_eq!(app.ask("POST /piece/1/purpose", &[json], body).status, 403);
    assert_eq!(
        app.ask("POST /piece/1/purpose", &[json, ("x-foreread-secret", "0")], body)
            .status,
        403
    );
    let secret = app.secret.clone();
    assert_eq!(
        app.ask(
            "POST /piece/1/purpose",
            &[json, ("x-foreread-secret", &secret)],
            body
        )
        .status,
        200
    );
    // A form of another page sends no such header; even with it, the origin is looked at.
    let foreign = [
        json,
        ("x-foreread-secret", &secret),
        ("Origin", "https://evil.example"),
    ];
    assert_eq!(app.ask("POST /piece/1/purpose", &foreign, body).status, 403);
    for method in ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"] {
        assert!(
            app.ask(&format!("{method} /piece/1/purpose"), &[json], body)
                .status
                >= 400,
            "{method}"
        );
    }
}

#[test]
fn every_answer_tells_the_browser_to_run_nothing_else() {
    let app = start("policy");
    for path in [
        "/",
        "/assets/house.js",
        "/fonts.css",
        "/nothing",
        "/part/999999",
        "/piece/999999/opening",
    ] {
        let answer = app.get(path);
        for expected in [
            "content-security-policy: default-src 'none'; script-src 'self'; style-src 'self';",
            "x-content-type-options: nosniff",
            "x-frame-options: deny",
            "cross-origin-resource-policy: same-origin",
            "referrer-policy: same-origin",
        ] {
            assert!(
                answer.head.contains(expected),
                "{path}: {expected}\n{}",
                answer.head
            );
        }
        assert!(
            !answer.head.contains("unsafe-inline") && !answer.head.contains("access-control-allow"),
            "{path}"
        );
        // Scripts and styles come as files of ours: the policy forbids others, so no page may need them.
        for inline in [
            "<style",
            " style=",
            "<script>",
            "onclick=",
            "onload=",
            "javascript:",
        ] {
            assert!(
                path.starts_with("/assets") || !answer.body.contains(inline),
                "{path}: {inline}"
            );
        }
    }
    assert_eq!(app.get("/part/999999").status, 404);
    assert_eq!(app.get("/nothing").status, 404);
}

#[test]
fn words_from_files_are_words() {
    let app = start("words");
    let hostile = "<script>alert(1)</script>\"><img src=x onerror=alert(2)>";
    let escaped = "&lt;script&gt;alert(1)&lt;/script&gt;&quot;&gt;&lt;img src=x onerror=alert(2)&gt;";
    let tune = format!("X:1\nT:{hostile}\nC:{hostile}\nM:4/4\nL:1/4\nK:C\n\"^{hostile}\"CDEF|G4|]\n");
    let answer = add(&app, "%3Cscript%3Ealert(3)%3C%2Fscript%3E.abc", tune.as_bytes());
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert!(answer.head.contains("content-type: application/json"));
    let page = app.get("/").body;
    assert!(
        !page.contains("<script>alert") && !page.contains("<img"),
        "{page}"
    );
    assert!(page.contains(escaped), "it is shown as what it is");
    // Her own words, too.
    let secret = app.secret.clone();
    let headers = [
        ("content-type", "application/json"),
        ("x-foreread-secret", secret.as_str()),
    ];
    let body = "{\"words\":\"</textarea><script>alert(4)</script>\"}";
    assert_eq!(
        app.ask("POST /piece/1/purpose", &headers, body.as_bytes()).status,
        200
    );
    let found = app.get("/?wish=%3Cscript%3Ealert(5)%3C/script%3E").body;
    let page = app.get("/").body;
    assert!(!page.contains("<script>alert") && !found.contains("<script>alert"));
}

#[test]
fn what_is_no_piece_or_too_large_stays_outside() {
    let app = start("bounds");
    let before = app.get("/").body.matches("class=\"piece\"").count();
    assert!(before >= 10, "the demo studio is there at first start");
    for (name, bytes) in [
        ("a.xml", &b"<html>"[..]),
        ("b.mid", b"MThd"),
        ("c", b""),
        ("e.mxl", b"PK\x03\x04"),
    ] {
        let answer = add(&app, name, bytes);
        assert_eq!(answer.status, 422, "{name}: {}", answer.body);
        assert!(answer.body.contains("That did not work"), "{name}");
    }
    // Pages that are none are refused by the press, if there is one here; without, too, they stay outside.
    for (name, bytes) in [
        ("d.pdf", &b"%PDF-1.7"[..]),
        ("f.png", b"\x89PNG\r\n\x1a\n"),
        ("g.jpg", b"\xff\xd8\xff\xe0"),
    ] {
        let answer = add(&app, name, bytes);
        assert!(answer.status >= 400, "{name}: {}", answer.body);
        assert!(answer.body.contains("That did not work"), "{name}");
    }
    // More than is ever read: refused by its length, before it comes.
    let huge = format!(
        "POST /folder/files?name=x.xml HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\nx-foreread-secret: {}\r\nContent-Length: 99999999999\r\n\r\n",
        app.port, app.secret
    );
    assert_eq!(app.raw(huge.as_bytes()).status, 413);
    let secret = app.secret.clone();
    let headers = [
        ("content-type", "application/json"),
        ("x-foreread-secret", secret.as_str()),
    ];
    let long = format!("{{\"words\":\"{}\"}}", "x".repeat(100_000));
    assert_eq!(
        app.ask("POST /piece/1/purpose", &headers, long.as_bytes()).status,
        413
    );
    for path in [
        "/part/../../etc/passwd",
        "/assets/..%2f..%2fCargo.toml",
        "/fonts/99.woff2",
        "/part/-1",
        "/part/1e9",
        "/sound/../x",
    ] {
        let status = app.get(path).status;
        assert!((400..500).contains(&status), "{path}: {status}");
    }
    assert_eq!(app.get("/").body.matches("class=\"piece\"").count(), before);
    assert_eq!(
        add(&app, "air.abc", b"X:1\nT:Air\nM:4/4\nL:1/4\nK:G\nGABc|d4|]\n").status,
        200
    );
    assert_eq!(app.get("/").body.matches("class=\"piece\"").count(), before + 1);
    // The same again is the same.
    assert!(
        add(&app, "air2.abc", b"X:1\nT:Air\nM:4/4\nL:1/4\nK:G\nGABc|d4|]\n")
            .body
            .contains("already")
    );
    assert_eq!(app.get("/").body.matches("class=\"piece\"").count(), before + 1);
}

#[test]
fn files_that_are_made_to_harm_are_refused_or_cut_in_seconds_and_reach_nothing() {
    let app = start("harm");
    let began = std::time::Instant::now();
    let laughs: String = (b'b'..=b'm')
        .map(|letter| {
            let before = char::from(letter - 1);
            let ten = format!("&{before};").repeat(10);
            format!("<!ENTITY {} \"{ten}\">", char::from(letter))
        })
        .collect();
    let score = |start: &str, title: &str| {
        format!(
            "<?xml version=\"1.0\"?>{start}<score-partwise><work><work-title>{title}</work-title></work></score-partwise>"
        )
    };
    // Shorthands that unfold to a million million letters, a file of this machine by a shorthand, nesting without end.
    let bomb = score(&format!("<!DOCTYPE x [<!ENTITY a \"ha\">{laughs}]>"), "&m;");
    let outside = score("<!DOCTYPE x [<!ENTITY f SYSTEM \"file:///etc/passwd\">]>", "&f;");
    let deep = "<score-partwise>".to_owned() + &"<part>".repeat(200_000);
    for (name, text) in [("bomb.xml", bomb), ("outside.xml", outside), ("deep.xml", deep)] {
        let answer = add(&app, name, text.as_bytes());
        assert_eq!(answer.status, 422, "{name}: {}", answer.body);
        assert!(!answer.body.contains("root:"), "{name}");
    }
    // Words without end are read up to a length, and it is said; a file's name is a name and no header or way.
    let words = "W".repeat(150_000);
    let tune = format!("X:1\nT:{words}\nM:4/4\nL:1/4\nK:C\n\"^{words}\"CDEF|G4|]\n");
    let answer = add(&app, "..%2F..%2Flong%0D%0AX-Evil:%201.abc", tune.as_bytes());
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert!(
        answer.body.contains("longer than 1000 letters"),
        "{}",
        answer.body
    );
    assert!(!answer.head.contains("x-evil"));
    let page = app.get("/").body;
    assert!(page.contains(&"W".repeat(1000)) && !page.contains(&"W".repeat(1001)));
    assert!(began.elapsed().as_secs() < 60, "it took {:?}", began.elapsed());
}

#[test]
fn signs_that_steer_a_screen_or_turn_a_line_reach_none() {
    let app = start("steer");
    // A name and a title that would turn the line round (a picture's ending where there is none), and clear a terminal.
    let tune = "X:1\nT:\u{202e}gnp.\u{5e9}\u{5d9}\u{5e8}\u{2066}\nC:\u{202d}Me\nM:4/4\nL:1/4\nK:C\n\"^\u{202e}left\"CDEF|G4|]\n";
    let answer = add(&app, "%E2%80%AEgpj%1B%5B2J.abc", tune.as_bytes());
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert!(
        answer.body.contains("signs that are no letters"),
        "{}",
        answer.body
    );
    let score = "<score-partwise><work><work-title>A&#x1b;[31mir&#x202e;</work-title></work><part-list><score-part id=\"P1\"><part-name>Fl&#x2067;ute</part-name></score-part></part-list><part id=\"P1\"><measure number=\"1\"><note><rest/><duration>4</duration></note></measure></part></score-partwise>";
    let answer = add(&app, "air.musicxml", score.as_bytes());
    assert_eq!(answer.status, 200, "{}", answer.body);
    let page = app.get("/").body;
    assert!(
        page.contains("gnp.\u{5e9}\u{5d9}\u{5e8}"),
        "letters of any script stay"
    );
    for sign in ['\u{1b}', '\u{202e}', '\u{202d}', '\u{2066}', '\u{2067}'] {
        assert!(!page.contains(sign), "{sign:?}");
    }
    // A wrong file's name is said, too.
    let answer = add(
        &app,
        "%E2%80%AEgpj.mid",
        b"MThd\0\0\0\x06\0\0\0\x01\0\0MTrk\0\0\0\0",
    );
    assert_eq!(answer.status, 422, "{}", answer.body);
    assert!(!answer.body.contains('\u{202e}'), "{}", answer.body);
}

#[test]
fn a_book_of_thirty_thousand_tunes_is_offered_at_once_and_not_taken_whole() {
    let app = start("book");
    let pieces = |app: &Running| app.get("/").body.matches("class=\"piece\"").count();
    let before = pieces(&app);
    let book: String = (1..=30_000)
        .map(|number| format!("X:{number}\nT:Tune {number}\nM:4/4\nL:1/4\nK:G\nGABc|d4|]\n\n"))
        .collect();
    let began = std::time::Instant::now();
    let offered = add(&app, "book.abc", book.as_bytes());
    assert_eq!(offered.status, 200);
    assert_eq!(offered.body.matches("\"title\":\"Tune ").count(), 30_000);
    assert!(began.elapsed().as_secs() < 30, "it took {:?}", began.elapsed());
    let all = add(&app, "book.abc&tunes=all", book.as_bytes());
    assert!((400..500).contains(&all.status), "{}", all.status);
    assert!(
        all.body.contains("more than the folder takes at once"),
        "{}",
        all.body
    );
    assert_eq!(pieces(&app), before);
    let two = add(&app, "book.abc&tunes=29999%0A7", book.as_bytes());
    assert_eq!(two.status, 200, "{}", two.body);
    assert!(
        two.body.contains("Tune 29999") && two.body.contains("Tune 7"),
        "{}",
        two.body
    );
    assert_eq!(pieces(&app), before + 2);
}

#[test]
fn a_corrected_file_takes_the_place_of_the_first_and_a_wrong_one_does_not() {
    let app = start("correct");
    let added = add(&app, "air.abc", b"X:1\nT:Air\nM:4/4\nL:1/4\nK:G\nGABc|d4|]\n").body;
    let id = added
        .split("\"id\":")
        .nth(1)
        .unwrap()
        .split(',')
        .next()
        .unwrap()
        .to_owned();
    let secret = app.secret.clone();
    let send = |bytes: &[u8]| {
        app.ask(
            &format!("POST /piece/{id}/file?name=air2.abc"),
            &[("x-foreread-secret", &secret)],
            bytes,
        )
    };
    assert_eq!(send(b"<html>").status, 422);
    assert!(app.get("/?wish=air").body.contains("2 bars"));
    let done = send(b"X:1\nT:Air\nM:4/4\nL:1/4\nK:G\nD4|GABc|d4|]\n");
    assert_eq!(done.status, 200, "{}", done.body);
    assert!(done.body.contains("The corrected file is in its place"));
    assert!(app.get("/?wish=air").body.contains("3 bars"));
}

#[test]
fn the_folder_is_searched_in_a_teachers_words() {
    let app = start("search");
    let titles = |wish: &str| {
        let body = app.get(&format!("/?wish={}", wish.replace(' ', "%20"))).body;
        let links = body.split("class=\"piece-title\"").skip(1);
        let mut titles: Vec<String> = links
            .filter_map(|rest| Some(rest.split_once('>')?.1.split_once('<')?.0.to_owned()))
            .collect();
        titles.sort();
        titles
    };
    assert!(titles("").len() >= 10);
    assert_eq!(titles("horn"), ["Am Waldrand"]);
    assert!(
        titles("tenor clef").contains(&"The Causeway at Dusk".to_owned()),
        "{:?}",
        titles("tenor clef")
    );
    assert!(titles("flute, no more than two sharps").contains(&"Kite Weather".to_owned()));
    assert_eq!(titles("flute, no sharps"), Vec::<String>::new());
    assert!(
        app.get("/?wish=no%20more%20than%20three%20flats")
            .body
            .contains("no more than 3 flats")
    );
}

#[test]
fn a_second_start_on_the_same_home_is_refused_kindly() {
    let home = std::env::temp_dir().join(format!("foreread-app-twice-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&home);
    let asked = app::AppAsked {
        home: Some(home),
        port: Some(0),
        no_open: true,
        ..app::AppAsked::default()
    };
    let first = app::bind(&asked).unwrap();
    let refused = app::bind(&asked).err().unwrap().to_string();
    assert!(
        refused.contains("is open in another Foreread") && refused.contains(&first.address()),
        "{refused}"
    );
}
