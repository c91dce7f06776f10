//! What lies in a new home? The demo studio: its pieces, players, days and call, so that everything can be tried at once.

use crate::ids::{PieceId, PlayerId};
use crate::rows::{insert_assignment, insert_call, insert_occasion, insert_piece, insert_player};
use crate::store::set_setting;
use crate::{
    NewAssignment, NewCall, NewOccasion, NewPiece, PlayerProfile, PlayerRange, Store, StoreError, begin,
    files, now,
};
use chrono::NaiveDate;
use rusqlite::Transaction;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;

/// Whether the demo was laid in (`"laid in"`) or declined (`"declined"`); once said, never asked again.
const SETTING: &str = "demo";

/// The pieces by the names of their files, with what they are for.
const PIECES: [(&str, &[u8], &str); 10] = [
    (
        "town_hall_minuet",
        include_bytes!("../../../demo/pieces/town_hall_minuet.musicxml"),
        "First ensemble piece: counting rests, cue notes, da capo.",
    ),
    (
        "lantern_barge",
        include_bytes!("../../../demo/pieces/lantern_barge.musicxml"),
        "Six-eight that rocks; both sides of the break.",
    ),
    (
        "signal_box_march",
        include_bytes!("../../../demo/pieces/signal_box_march.musicxml"),
        "Three clefs in one march; five flats without fear.",
    ),
    (
        "am_waldrand",
        include_bytes!("../../../demo/pieces/am_waldrand.musicxml"),
        "A long line in twelve-eight, stopped echoes, German terms.",
    ),
    (
        "causeway_at_dusk",
        include_bytes!("../../../demo/pieces/causeway_at_dusk.musicxml"),
        "Tenor clef, and a road map told by words alone.",
    ),
    (
        "kite_weather",
        include_bytes!("../../../demo/pieces/kite_weather.musicxml"),
        "Slur two, tongue two, until it runs by itself; where to breathe.",
    ),
    (
        "low_water",
        include_bytes!("../../../demo/pieces/low_water.musicxml"),
        "Five-four by its beams; double sharps read as what they are.",
    ),
    (
        "sealed_door",
        include_bytes!("../../../demo/pieces/sealed_door.musicxml"),
        "Free recitative, and every ornament there is.",
    ),
    (
        "seven_lamps",
        include_bytes!("../../../demo/pieces/seven_lamps.musicxml"),
        "Seven-eight in twos and threes; a signature that is none of the usual.",
    ),
    (
        "winding_road",
        include_bytes!("../../../demo/pieces/winding_road.musicxml"),
        "Variations: a bow stroke for each.",
    ),
];

#[derive(Deserialize)]
struct Studio {
    studio: About,
    players: Vec<Member>,
    visitors: Vec<Visitor>,
    dates: Vec<Ahead>,
}

#[derive(Deserialize)]
struct About {
    name: String,
    teacher: String,
    teacher_instruments: Vec<String>,
    bar_word: String,
    counting: String,
    notes: String,
}

#[derive(Deserialize)]
struct Member {
    name: String,
    instrument: String,
    level: String,
    range: PlayerRange,
    breath_seconds: f64,
    tongue_per_second: f64,
    notes: String,
    #[serde(default)]
    large_print: bool,
    working_on: Vec<WorkingOn>,
}

#[derive(Deserialize)]
struct WorkingOn {
    piece: String,
    since: toml::value::Datetime,
    goal: String,
    #[serde(default)]
    note: String,
}

#[derive(Deserialize)]
struct Visitor {
    name: String,
    instrument: String,
    piece: String,
}

#[derive(Deserialize)]
struct Ahead {
    date: toml::value::Datetime,
    name: String,
    kind: String,
    players: Vec<String>,
    #[serde(default)]
    requirements: String,
    deadline: Option<toml::value::Datetime>,
}

#[derive(Deserialize)]
struct CallHead {
    name: String,
    date: toml::value::Datetime,
    pieces: Vec<CallFile>,
}

#[derive(Deserialize)]
struct CallFile {
    file: String,
}

const STUDIO: &str = include_str!("../../../demo/studio.toml");
/// The one player whose file is written out in the demo.
const IVO: &str = include_str!("../../../demo/players/ivo.toml");
const HARBOUR: &str = include_str!("../../../demo/calls/harbour.toml");

impl Store {
    /// Opens what is kept in a home, as [`Self::open_empty`]; where nothing was kept yet, the demo studio is laid in.
    ///
    /// # Errors
    /// As [`Self::open_empty`].
    pub fn open(home: &Path) -> Result<Self, StoreError> {
        Self::open_on(home, chrono::Local::now().date_naive())
    }

    /// As [`Self::open`], on a day: the days of the demo studio lie about it.
    ///
    /// # Errors
    /// As [`Self::open_empty`].
    pub fn open_on(home: &Path, today: NaiveDate) -> Result<Self, StoreError> {
        let store = Self::unasked(home)?;
        if store.setting(SETTING)?.is_none() {
            lay_in(&store, today)?;
        }
        Ok(store)
    }

    /// Opens what is kept in a home, and makes it where there is none; empty, and it stays so.
    ///
    /// # Errors
    /// If another program has it open ([`StoreError::AlreadyOpen`]), a newer one kept it, or the machine refuses.
    pub fn open_empty(home: &Path) -> Result<Self, StoreError> {
        let store = Self::unasked(home)?;
        if store.setting(SETTING)?.is_none() {
            store.set_setting(SETTING, "\"declined\"")?;
        }
        Ok(store)
    }
}

/// All of it in one transaction: a home never holds half a studio.
fn lay_in(store: &Store, today: NaiveDate) -> Result<(), StoreError> {
    let weeks = weeks_since_written(today);
    let studio: Studio = read(&later(STUDIO, weeks))?;
    let mut connection = store.connection();
    let hashes: Vec<String> = PIECES
        .iter()
        .map(|(_, bytes, _)| store.home.arrive(bytes))
        .collect::<Result<_, _>>()?;
    let transaction = begin(&mut connection)?;
    let pieces = lay_pieces(&transaction, &hashes)?;
    let players = lay_players(&transaction, &studio, &pieces, today)?;
    lay_days(&transaction, &studio, &later(HARBOUR, weeks), &pieces, &players)?;
    lay_settings(&transaction, &studio.studio)?;
    set_setting(&transaction, SETTING, "\"laid in\"")?;
    transaction.commit()?;
    hashes.iter().for_each(|hash| store.home.settle_file(hash));
    Ok(())
}

/// The Monday of the week in which the demo studio was written.
const WRITTEN: (i32, u32, u32) = (2026, 11, 23);

/// So many whole weeks lie between that week and today's: days of the week stay what they are.
fn weeks_since_written(today: NaiveDate) -> i64 {
    let (year, month, day) = WRITTEN;
    NaiveDate::from_ymd_opt(year, month, day).map_or(0, |written| (today - written).num_days().div_euclid(7))
}

/// A text of the demo with each of its days so many weeks later: what lies ahead in it lies ahead whenever it is laid in.
fn later(text: &str, weeks: i64) -> String {
    const LENGTH: usize = "2026-11-23".len();
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(next) = rest.chars().next() {
        // Its reader would take a space before or a day of one digit, too.
        let day = rest.get(..LENGTH).filter(|text| !text.contains(' '));
        let day = day.and_then(|text| text.parse::<NaiveDate>().ok());
        let moved = day.and_then(|day| day.checked_add_signed(chrono::Duration::weeks(weeks)));
        let taken = match moved {
            Some(day) => {
                out.push_str(&day.to_string());
                LENGTH
            }
            None => {
                out.push(next);
                next.len_utf8()
            }
        };
        rest = rest.get(taken..).unwrap_or_default();
    }
    out
}

type Pieces = BTreeMap<&'static str, PieceId>;

fn lay_pieces(transaction: &Transaction<'_>, hashes: &[String]) -> Result<Pieces, StoreError> {
    let mut pieces = BTreeMap::new();
    for ((stem, bytes, purpose), hash) in PIECES.iter().zip(hashes) {
        files::keep(transaction, hash, bytes, &now())?;
        let file_name = format!("{stem}.musicxml");
        let title = formats::read(bytes, &file_name)
            .ok()
            .and_then(|(piece, _)| piece.credits.name())
            .unwrap_or_else(|| (*stem).to_owned());
        let new = NewPiece {
            title,
            file_name,
            purpose: (*purpose).to_owned(),
            // One of them is a part with a keyboard below it.
            part: (*stem == "town_hall_minuet").then(|| "1".to_owned()),
            ..NewPiece::default()
        };
        pieces.insert(*stem, insert_piece(transaction, &new, hash, true)?.id);
    }
    Ok(pieces)
}

fn lay_players(
    transaction: &Transaction<'_>,
    studio: &Studio,
    pieces: &Pieces,
    today: NaiveDate,
) -> Result<BTreeMap<String, PlayerId>, StoreError> {
    let mut players = BTreeMap::new();
    let assign = |player: PlayerId, piece: &str, since: String, goal: &str, note: &str| {
        let Some(piece) = pieces.get(piece) else {
            return Ok(());
        };
        let new = NewAssignment {
            piece: *piece,
            player,
            since,
            until: None,
            goal: goal.to_owned(),
            note: note.to_owned(),
        };
        insert_assignment(transaction, &new).map(|_| ())
    };
    for member in &studio.players {
        let own = PlayerProfile::parse(IVO)?.name.as_ref() == Some(&member.name);
        let file = if own {
            IVO.to_owned()
        } else {
            profile(member).to_toml()?
        };
        let row = insert_player(transaction, &file, &member.notes, member.large_print, true)?;
        for on in &member.working_on {
            assign(row.id, &on.piece, on.since.to_string(), &on.goal, &on.note)?;
        }
        players.insert(row.name, row.id);
    }
    for visitor in &studio.visitors {
        let profile = PlayerProfile {
            name: Some(visitor.name.clone()),
            instrument: Some(visitor.instrument.clone()),
            ..PlayerProfile::default()
        };
        let notes = "Comes to read with the studio.";
        let row = insert_player(transaction, &profile.to_toml()?, notes, false, true)?;
        assign(row.id, &visitor.piece, today.to_string(), "", "")?;
    }
    Ok(players)
}

fn profile(member: &Member) -> PlayerProfile {
    PlayerProfile {
        name: Some(member.name.clone()),
        instrument: Some(member.instrument.clone()),
        level: Some(member.level.clone()),
        range: Some(member.range.clone()),
        breath_seconds: Some(member.breath_seconds),
        tongue_per_second: Some(member.tongue_per_second),
        ..PlayerProfile::default()
    }
}

fn lay_days(
    transaction: &Transaction<'_>,
    studio: &Studio,
    harbour: &str,
    pieces: &Pieces,
    players: &BTreeMap<String, PlayerId>,
) -> Result<(), StoreError> {
    let head: CallHead = read(harbour)?;
    let stem = |file: &str| {
        file.rsplit('/')
            .next()
            .and_then(|name| name.split('.').next())
            .map(str::to_owned)
    };
    let named = head.pieces.iter().filter_map(|piece| {
        let id = pieces.get(stem(&piece.file)?.as_str())?;
        Some((piece.file.clone(), *id))
    });
    let new = NewCall {
        name: head.name,
        date: Some(head.date.to_string()),
        text: harbour.to_owned(),
        pieces: named.collect(),
    };
    let call = insert_call(transaction, &new, true)?;
    for ahead in &studio.dates {
        let date = ahead.date.to_string();
        let new = NewOccasion {
            call: (call.date.as_ref() == Some(&date)).then_some(call.id),
            date,
            name: ahead.name.clone(),
            kind: ahead.kind.clone(),
            requirements: ahead.requirements.clone(),
            deadline: ahead.deadline.as_ref().map(ToString::to_string),
            players: ahead
                .players
                .iter()
                .filter_map(|name| players.get(name).copied())
                .collect(),
        };
        insert_occasion(transaction, &new)?;
    }
    Ok(())
}

fn lay_settings(transaction: &Transaction<'_>, about: &About) -> Result<(), StoreError> {
    let texts = [
        ("studio.name", &about.name),
        ("studio.teacher", &about.teacher),
        ("studio.bar_word", &about.bar_word),
        ("studio.counting", &about.counting),
        ("studio.notes", &about.notes),
    ];
    for (name, text) in texts {
        set_setting(transaction, name, &serde_json::to_string(text)?)?;
    }
    let instruments = serde_json::to_string(&about.teacher_instruments)?;
    set_setting(transaction, "studio.teacher_instruments", &instruments)
}

/// Our own files of the demo; the tests read them, too.
fn read<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, StoreError> {
    toml::from_str(text).map_err(|error| {
        StoreError::refused(
            format!("the demo studio can't be read: {}", error.message()),
            "start with an empty home, and say so to whoever looks after the program",
        )
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]
mod tests {
    use super::{HARBOUR, STUDIO, later, weeks_since_written};

    #[test]
    fn days_of_the_demo_keep_their_weekday_and_lie_ahead_on_any_day() {
        let weeks = |day: &str| weeks_since_written(day.parse().unwrap());
        assert_eq!(
            (weeks("2026-11-23"), weeks("2026-11-29"), weeks("2026-11-30")),
            (0, 0, 1)
        );
        assert_eq!(weeks("2026-11-22"), -1);
        assert_eq!(later(STUDIO, 0), STUDIO);
        assert_eq!(
            later("a 2027-02-20, 2026; é2026-12-31", 1),
            "a 2027-02-27, 2026; é2027-01-07"
        );
        // The first day ahead in the demo, and the call's own, seen from years later.
        let moved = later(HARBOUR, weeks("2031-06-05"));
        let date = moved
            .lines()
            .find_map(|line| line.strip_prefix("date = "))
            .unwrap();
        assert!(date > "2031-08" && date < "2031-10", "{date}");
        assert_eq!(moved.lines().count(), HARBOUR.lines().count());
    }
}
