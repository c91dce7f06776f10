//! Which addresses are open to a player's device? Each of the app's is listed here, so that a new one fails until somebody says.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot set itself up has failed"
)]

use super::reach::may;
use crate::serve::AppAsked;
use crate::state::App;
use axum::http::{Method, Uri};
use std::collections::BTreeSet;
use std::path::PathBuf;
use store::{NewAssignment, NewPiece, NewTake, PieceId, PlayerId, TakeId};

/// Where routes stand.
const ROUTES: [&str; 4] = [
    include_str!("../routes.rs"),
    include_str!("../studio/mod.rs"),
    include_str!("../takes/mod.rs"),
    include_str!("../mending/mod.rs"),
];

/// Open to be looked at: to every device, or for the player's own pieces and days.
const LOOKED_AT: &[&str] = &[
    "/icon.svg",
    "/fonts.css",
    "/fonts/{name}",
    "/assets/{name}",
    "/sound/{key}",
    "/today/{player}",
    "/today/{player}/notes",
    "/today/{player}/drill",
    "/today/{player}/read",
    "/look",
    "/look/{id}",
    "/look/{id}/now",
    "/look/{id}/page/{number}",
    "/look/{id}/seen/{look}",
    "/look/player/{id}",
    "/part/{id}",
    "/part/{id}/page/{number}",
    "/part/{id}/bar/{bar}",
    "/part/{id}/margin",
    "/piece/{id}/opening",
    "/takes/{piece}",
    "/take/{id}",
    "/take/{id}/page/{number}",
    "/take/{id}/drill/{number}",
    "/take/{id}/sound",
];

/// Open to write at.
const WRITTEN_AT: &[&str] = &[
    "/today/{player}/tick",
    "/today/{player}/log",
    "/today/{player}/strike",
    "/part/{id}/sound",
    "/look/{id}/answers",
    "/takes/{piece}/sound",
    "/take/{id}/note",
    "/take/{id}/log",
    "/take/{id}/away",
];

/// The teacher's own: closed to a player's device, for looking and for writing.
const CLOSED: &[&str] = &[
    "/",
    "/today",
    "/compare",
    "/folder/files",
    "/piece/{id}/purpose",
    "/piece/{id}/away",
    "/piece/{id}/file",
    "/part/{id}/pencil",
    // Putting right what was read is the teacher's; what comes of it is seen in the part.
    "/paper/{id}",
    "/paper/{id}/reading",
    "/paper/{id}/line/{number}",
    "/paper/{id}/page/{number}",
    "/paper/{id}/bars/{first}/{last}",
    "/paper/{id}/edits",
    "/paper/{id}/undo",
    "/paper/{id}/test-page",
    "/studio",
    "/studio/players",
    "/studio/weeks.pdf",
    "/studio/player/{player}",
    "/studio/player/{player}/away",
    "/studio/player/{player}/practice",
    "/studio/player/{player}/assign",
    "/studio/player/{player}/assignment/{assignment}",
    "/studio/player/{player}/assignment/{assignment}/back",
    "/studio/player/{player}/assignment/{assignment}/cuts",
    "/studio/player/{player}/cut/{cut}/back",
    "/studio/player/{player}/week/{form}",
    "/studio/player/{player}/sheet/{piece}/{form}",
    "/studio/days",
    "/studio/day/{day}",
    "/studio/day/{day}/back",
    "/studio/calls",
    "/studio/calls/begun",
    "/studio/call/{call}",
    "/studio/call/{call}/back",
    "/studio/rubrics",
    "/studio/rubric/{rubric}",
    "/studio/rubric/{rubric}/back",
    "/studio/judge",
    "/studio/judgement/{judgement}/back",
    // Pairing is its own door, before anybody is known; devices are let in at the machine itself.
    "/pair",
    "/devices",
    "/devices/offer",
    "/devices/{id}/out",
];

/// A studio of two players, each with a piece.
struct House {
    app: App,
    home: PathBuf,
    ivo: PlayerId,
    una: PlayerId,
    given: PieceId,
    other: PieceId,
    /// Takes: whose, of which piece.
    takes: Vec<(Option<PlayerId>, PieceId, TakeId)>,
}

impl House {
    fn new(name: &str) -> Self {
        let home = std::env::temp_dir().join(format!("foreread-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&home);
        let asked = AppAsked {
            home: Some(home.clone()),
            no_open: true,
            ..AppAsked::default()
        };
        let app = App::open(&asked, 1).unwrap().0;
        let player = |name: &str| {
            let file = format!("name = \"{name}\"\ninstrument = \"clarinet-bb\"\n");
            app.store.add_player(&file).unwrap().id
        };
        let piece = |title: &str| {
            let new = NewPiece {
                title: title.to_owned(),
                file_name: format!("{title}.abc"),
                bytes: format!("X:1\nT:{title}\nK:C\nCDEF|\n").into_bytes(),
                ..NewPiece::default()
            };
            app.store.add_piece(&new).unwrap().id
        };
        let (ivo, una) = (player("Ivo"), player("Una"));
        let (given, other) = (piece("Given"), piece("Other"));
        for (player, piece) in [(ivo, given), (una, other)] {
            let new = NewAssignment {
                piece,
                player,
                since: "2026-11-26".to_owned(),
                until: None,
                goal: String::new(),
                note: String::new(),
            };
            app.store.assign(&new).unwrap();
        }
        // Of each player and of nobody in particular, of each piece: more than a screen would ever make.
        let mut takes = Vec::new();
        for whose in [Some(una), None, Some(ivo)] {
            for piece in [given, other] {
                let new = NewTake {
                    piece,
                    player: whose,
                    file_name: "take.wav".to_owned(),
                    bytes: format!("{whose:?} {piece}").into_bytes(),
                    seconds: None,
                };
                takes.push((whose, piece, app.store.add_take(&new).unwrap().id));
            }
        }
        Self {
            app,
            home,
            ivo,
            una,
            given,
            other,
            takes,
        }
    }

    fn take(&self, whose: Option<PlayerId>, piece: PieceId) -> TakeId {
        let found = self.takes.iter().find(|(by, of, _)| (*by, *of) == (whose, piece));
        found.map_or(TakeId(999_999), |(_, _, take)| *take)
    }

    fn may(&self, method: &Method, address: &str) -> bool {
        let uri: Uri = address
            .parse()
            .unwrap_or_else(|_| panic!("no address: {address}"));
        may(&self.app, self.ivo, method, &uri).unwrap()
    }

    /// An address with this player and this piece in it.
    fn at(&self, route: &str, player: PlayerId, piece: PieceId) -> String {
        let mut steps = Vec::new();
        for step in route.split('/') {
            let before = steps.last().map_or("", String::as_str).to_owned();
            steps.push(match step {
                "{player}" => player.to_string(),
                "{id}" if before == "player" => player.to_string(),
                "{id}" if before == "take" => self.take(Some(player), piece).to_string(),
                "{id}" | "{piece}" => piece.to_string(),
                step if step.starts_with('{') => "1".to_owned(),
                step => step.to_owned(),
            });
        }
        steps.join("/")
    }
}

impl Drop for House {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.home);
    }
}

#[test]
fn every_route_is_listed_as_open_or_closed() {
    let found: BTreeSet<&str> = ROUTES
        .iter()
        .flat_map(|text| text.split(".route(").skip(1))
        .map(|rest| rest.split('"').nth(1).unwrap())
        .collect();
    let listed: BTreeSet<&str> = [LOOKED_AT, WRITTEN_AT, CLOSED].concat().into_iter().collect();
    assert!(found.len() > 50, "the routes are found: {}", found.len());
    assert_eq!(
        found, listed,
        "say of each new route whether a player's device may ask for it"
    );
}

#[test]
fn a_players_device_reaches_that_players_things_and_no_others() {
    let house = House::new("every-route");
    for route in [LOOKED_AT, WRITTEN_AT, CLOSED].concat() {
        let own = house.at(route, house.ivo, house.given);
        let (looks, writes) = (LOOKED_AT.contains(&route), WRITTEN_AT.contains(&route));
        assert!(!looks || house.may(&Method::GET, &own), "{own} can be looked at");
        assert!(
            !writes || house.may(&Method::POST, &own),
            "{own} can be written at"
        );
        if !looks && !writes {
            assert!(
                !house.may(&Method::GET, &own) && !house.may(&Method::POST, &own),
                "{own}"
            );
        }
        // Somebody else's day or piece, by the same address; with an own one before it, and with a player named beside.
        for (player, piece) in [(house.una, house.other), (PlayerId(999_999), PieceId(999_999))] {
            let others = house.at(route, player, piece);
            let beside = format!("{own}?player={player}");
            for method in [Method::GET, Method::POST, Method::PUT, Method::DELETE] {
                let is_anyones = others == own;
                assert!(is_anyones || !house.may(&method, &others), "{method} {others}");
                assert!(!house.may(&method, &beside), "{method} {beside}");
            }
        }
        let own_beside = format!("{own}?player={}", house.ivo);
        assert_eq!(
            house.may(&Method::GET, &own_beside),
            house.may(&Method::GET, &own)
        );
    }
}

#[test]
fn a_take_is_open_to_whoever_played_it_and_still_has_the_piece() {
    let house = House::new("takes");
    for (whose, piece, take) in &house.takes {
        let own = *whose == Some(house.ivo) && *piece == house.given;
        for (address, method) in [
            (format!("/take/{take}"), Method::GET),
            (format!("/take/{take}/sound"), Method::GET),
            (format!("/take/{take}/page/1"), Method::GET),
            (format!("/take/{take}/drill/0"), Method::GET),
            (format!("/take/{take}/note"), Method::POST),
            (format!("/take/{take}/log"), Method::POST),
            (format!("/take/{take}/away"), Method::POST),
        ] {
            assert_eq!(
                house.may(&method, &address),
                own,
                "{method} {address} of {whose:?}"
            );
        }
    }
    assert!(!house.may(&Method::GET, "/take/999999") && !house.may(&Method::GET, "/take/0x1"));
}

#[test]
fn addresses_written_otherwise_open_nothing() {
    let house = House::new("otherwise");
    let (given, other, una) = (house.given, house.other, house.una);
    for address in [
        format!("/part/0{given}/../{other}"),
        format!("/part/{given}%2f"),
        format!("/part/+{given}"),
        format!("/part/{given}?%70layer={una}"),
        format!("/part/{given}?player={}&player={una}", house.ivo),
        format!("/part/{given}?player="),
        format!("/part/{given}?player=%2B{}", house.ivo),
        format!("/./today/{una}"),
        format!("/today/{una}/../{}", house.ivo),
        format!("/look/{given}/pencil"),
        "/part/".to_owned(),
        "/part/-1".to_owned(),
        "/part/99999999999999999999".to_owned(),
    ] {
        assert!(!house.may(&Method::GET, &address), "{address}");
        assert!(!house.may(&Method::POST, &address), "{address}");
    }
    // Reading has no address that writes.
    for address in [format!("/part/{given}"), "/assets/house.css".to_owned()] {
        assert!(!house.may(&Method::POST, &address), "{address}");
    }
}
