//! What is the fastest tempo at which nothing has to be left out? From what each bar asks a second, and what the player can.
//!
//! Each thing that can hold her back gives a tempo of its own, with the bar that sets it; the slowest of them decides:
//! - *reading*: what a bar holds that could not be foreseen, against what she takes in a second. Eyes hold two notes
//!   (amateurs) to four (professionals) in the second that they run ahead (Furneaux & Land 1999, Proc. R. Soc. B 266,
//!   2435-2440), notes of the density of ordinary parts ([`BITS_A_NOTE`]). Marks at the first note are read before it.
//! - *subdivision*: the fastest common notes, in groups up to a beat at a glance (Truitt et al. 1997, Visual Cognition 4, 143);
//!   the rate grows with the square root of the group and no further than half as fast again: ours.
//! - *hands*: movements a second ([`crate::hand`]) against what is comfortable at first sight: judgement.
//! - *tongue*: half of her fastest, so that attention stays on the page: judgement.
//! - *marking*: never faster than the marked tempo.
//! - *breath*: a stretch without a place to breathe sets a tempo below which it can't be played in one.
//!
//! The fast end is for all but the hardest fifth of the bars, the slow end for the hardest bar, but no slower than three
//! quarters of the fast end: ours.

use crate::{Account, Player, Share};
use instruments::Experience;
use notation::{BarIndex, Quarters};
use survey::metre::BeatUnit;
use survey::tempo::{Asked, FirstReading, MetronomeRange};

/// What there is to read in a note with the marks around it, in bits: the middle of 161 parts of string quartets by Haydn,
/// Mozart and Beethoven (5.34, 5.00, 5.68 apart), measured on the scores of music21 10.5.1's corpus by
/// `examples/bits.rs`. A page of this density is read at exactly the notes a second that she holds.
pub const BITS_A_NOTE: f64 = 5.3;
/// How far the rate grows with larger groups.
const LARGE_GROUPS: f64 = 1.5;
/// The share of the tongue's top speed that a first reading uses.
const TONGUE_SHARE: f64 = 0.5;
/// How far the hardest bar can pull the slow end down.
const SLOWEST_END: f64 = 0.75;
/// The slow end over the fast one where no bar asks for less: a second against 1.2 s of span (Furneaux & Land 1999).
const SLOW_END: f64 = 5.0 / 6.0;
/// The hardest fifth of the bars may ask for less than the fast end.
const HARD_SHARE: usize = 5;
/// Quarter notes a minute that nobody needs to go below at first sight.
const SLOWEST: f64 = 20.0;

/// What can hold a first reading back.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Holds {
    /// What there is to read.
    Reading,
    /// The fastest common notes.
    Subdivision,
    /// Fingers, slide, shifts, leaps.
    Hands,
    /// The tongue.
    Tongue,
    /// The marked tempo.
    Marking,
    /// Breath: not slower than this.
    Breath,
}

impl Holds {
    /// The name in JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Reading => "reading",
            Self::Subdivision => "subdivision",
            Self::Hands => "hands",
            Self::Tongue => "tongue",
            Self::Marking => "marking",
            Self::Breath => "breath",
        }
    }
}

/// One thing that holds back.
#[derive(Clone, PartialEq, Debug)]
pub struct Limit {
    /// What.
    pub holds: Holds,
    /// The tempo that it allows, in quarter notes a minute: the fastest, for breath the slowest.
    pub quarters_a_minute: f64,
    /// The bar that sets it, if one does.
    pub bar: Option<BarIndex>,
    /// Why, a clause.
    pub why: String,
}

/// The tempo of the first reading for a player.
#[derive(Clone, PartialEq, Debug)]
pub struct FirstTempo {
    /// The note that is counted.
    pub beat: BeatUnit,
    /// The range on the metronome's marks, in such notes a minute.
    pub range: MetronomeRange,
    /// Slow end and fast end before they were put on the metronome's marks, in quarter notes a minute.
    pub quarters_a_minute: (f64, f64),
    /// What decides the fast end.
    pub holds: Holds,
    /// The bar that sets the slow end, and what is in it.
    pub set_by: Option<(BarIndex, String)>,
    /// Everything that was weighed, the slowest first, breath last.
    pub limits: Vec<Limit>,
    /// In a few sentences.
    pub reason: String,
}

/// What each bar asks, to be held against the player.
#[derive(Clone, Copy, Debug)]
pub struct BarsAsk<'a> {
    /// Quarter notes of each bar.
    pub quarters: &'a [Quarters],
    /// What there is to read in each bar, in bits.
    pub reading: &'a [Account],
    /// Movements a second in each bar at [`BarsAsk::hand_at`].
    pub hand: &'a [Account],
    /// Quarter notes a minute at which the hands were measured.
    pub hand_at: f64,
    /// Air needed for the longest stretch without a place to breathe, in seconds of breath at a tempo (quarter notes a
    /// minute), and its first bar; `None` if she breathes where she likes.
    pub stretch: Option<(f64, f64, BarIndex)>,
}

/// Notes that she holds ahead in a second. Source: Furneaux & Land 1999 for two and four; between them: ours.
#[must_use]
pub const fn notes_held(experience: Experience) -> f64 {
    match experience {
        Experience::Student => 2.0,
        Experience::Intermediate => 3.0,
        Experience::Professional => 4.0,
    }
}

/// Movements a second that are comfortable at first sight. Judgement, in the proportion of the notes held, and held against old
/// tunes for fife, flute and fiddle (James Aird's first book, 1778, in the corpus of music21 10.5.1): read by a student on the flute,
/// oboe, clarinet or bassoon, the hands of the middle tune ask for ♩ = 64 to 84 where the eyes ask for 60, so that only
/// what lies badly holds the reading back.
#[must_use]
pub const fn movements(experience: Experience) -> f64 {
    match experience {
        Experience::Student => 12.0,
        Experience::Intermediate => 18.0,
        Experience::Professional => 24.0,
    }
}

/// The tempo of the first reading of a part for a player; `page` is what the survey proposed to anybody.
#[must_use]
pub fn first_tempo(page: &FirstReading, player: &Player, bars: &BarsAsk) -> FirstTempo {
    let mut limits = vec![subdivision(&page.asked, player)];
    limits.extend(tongue(&page.asked, player));
    limits.extend(marking(&page.asked));
    let reading = by_bar(bars, bars.reading, |bits, quarters| {
        60.0 * notes_held(player.experience) * BITS_A_NOTE * quarters / bits
    });
    let hands = by_bar(bars, bars.hand, |moves, _| {
        bars.hand_at * movements(player.experience) / moves
    });
    limits.extend(typical(
        &reading,
        Holds::Reading,
        "what there is to read in all but the hardest bars",
    ));
    limits.extend(typical(
        &hands,
        Holds::Hands,
        "what the hands must do in all but the hardest bars",
    ));
    limits.sort_by(|a, b| a.quarters_a_minute.total_cmp(&b.quarters_a_minute));
    let fast = limits
        .first()
        .map_or(60.0, |limit| limit.quarters_a_minute)
        .max(SLOWEST);
    let holds = limits.first().map_or(Holds::Subdivision, |limit| limit.holds);
    let hardest = hardest(&reading, &hands);
    let hard = hardest.as_ref().map_or(fast, |limit| limit.quarters_a_minute);
    let slow = hard.clamp(SLOWEST_END * fast, SLOW_END * fast).max(SLOWEST);
    let breath = breath(bars, player);
    let range = page.asked.on.on_metronome(slow, fast);
    let account = |limit: &Limit| {
        let of = if limit.holds == Holds::Hands {
            bars.hand
        } else {
            bars.reading
        };
        let account = limit.bar.and_then(|bar| of.get(bar.get()));
        account.map(said).unwrap_or_default()
    };
    let set_by = hardest
        .as_ref()
        .and_then(|limit| Some((limit.bar?, account(limit))));
    limits.extend(hardest.filter(|limit| limit.quarters_a_minute < fast));
    limits.sort_by(|a, b| a.quarters_a_minute.total_cmp(&b.quarters_a_minute));
    let mut first = FirstTempo {
        beat: page.beat,
        range,
        quarters_a_minute: (slow, fast),
        holds,
        set_by,
        limits,
        reason: String::new(),
    };
    first.reason = reason(&first, breath.as_ref(), slow);
    first.limits.extend(breath);
    first
}

/// The largest reasons of a bar, in words.
fn said(account: &Account) -> String {
    let mut said: Vec<&str> = Vec::new();
    // Marks are noticed in passing: they are named after what is played.
    let (marks, played): (Vec<&Share>, Vec<&Share>) = (account.largest_first().into_iter())
        .partition(|share| matches!(share.kind, "articulation" | "dynamics"));
    let some = account.shares().iter().any(Share::is_reason);
    for share in played
        .into_iter()
        .chain(marks)
        .filter(|share| share.is_reason() || !some)
    {
        // The same thing can be said twice, once in more words.
        if !said.iter().any(|before| before.contains(share.why.as_str())) {
            said.push(&share.why);
        }
        if said.len() == 3 {
            break;
        }
    }
    said.join("; ")
}

fn subdivision(asked: &Asked, player: &Player) -> Limit {
    let group = asked.on.group.to_f64();
    let notes = f64::from(asked.notes.max(1));
    // Between the notes that a beat holds and the finest place on which one stands: a dotted rhythm is read as fast
    // as its notes come, but placed on the grid of its short one.
    let grid = (group / asked.length.to_f64().max(1e-3)).max(1.0);
    let items = (notes * grid).sqrt().max(1.0);
    let held = notes_held(player.experience);
    let rate = (held * (items / 2.0).sqrt()).min(held * LARGE_GROUPS);
    Limit {
        holds: Holds::Subdivision,
        quarters_a_minute: 60.0 * rate / items * group,
        bar: None,
        why: if asked.notes <= 1 {
            "mostly one note to a beat".to_owned()
        } else {
            format!("up to {} notes to a beat are common", asked.notes)
        },
    }
}

fn tongue(asked: &Asked, player: &Player) -> Option<Limit> {
    let wind = player
        .instrument
        .is_none_or(|instrument| instrument.family.is_wind());
    let speed = player.tongue.burst;
    (wind && asked.tongued > 0 && speed > 0.0).then(|| Limit {
        holds: Holds::Tongue,
        quarters_a_minute: 60.0 * TONGUE_SHARE * speed / f64::from(asked.tongued) * asked.on.group.to_f64(),
        bar: None,
        why: format!(
            "up to {} tongued notes to a beat are common; a tongue of {speed:.1} a second is kept at half its speed",
            asked.tongued
        ),
    })
}

fn marking(asked: &Asked) -> Option<Limit> {
    let (speed, text) = asked.marked.as_ref()?;
    Some(Limit {
        holds: Holds::Marking,
        quarters_a_minute: *speed,
        bar: None,
        why: format!("{text} is marked"),
    })
}

/// For each bar that asks anything the tempo that it allows.
fn by_bar(bars: &BarsAsk, accounts: &[Account], tempo: impl Fn(f64, f64) -> f64) -> Vec<(BarIndex, f64)> {
    let of = accounts.iter().zip(bars.quarters).enumerate();
    of.filter_map(|(bar, (account, quarters))| {
        let asks = account.total();
        let allowed = tempo(asks, quarters.to_f64().max(1.0));
        (asks > 0.0 && allowed.is_finite()).then(|| (BarIndex::from_usize(bar), allowed))
    })
    .collect()
}

/// The tempo that all but the hardest fifth of the bars allow.
fn typical(bars: &[(BarIndex, f64)], holds: Holds, why: &str) -> Option<Limit> {
    let mut sorted: Vec<&(BarIndex, f64)> = bars.iter().collect();
    sorted.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    let (bar, allowed) = sorted.get(sorted.len().saturating_sub(1) / HARD_SHARE)?;
    Some(Limit {
        holds,
        quarters_a_minute: *allowed,
        bar: Some(*bar),
        why: why.to_owned(),
    })
}

fn hardest(reading: &[(BarIndex, f64)], hands: &[(BarIndex, f64)]) -> Option<Limit> {
    let all = reading
        .iter()
        .map(|bar| (Holds::Reading, bar))
        .chain(hands.iter().map(|bar| (Holds::Hands, bar)));
    let (holds, (bar, allowed)) = all.min_by(|a, b| a.1.1.total_cmp(&b.1.1).then(a.1.0.cmp(&b.1.0)))?;
    Some(Limit {
        holds,
        quarters_a_minute: *allowed,
        bar: Some(*bar),
        why: match holds {
            Holds::Hands => "the hands have most to do here".to_owned(),
            _ => "there is most to read here".to_owned(),
        },
    })
}

fn breath(bars: &BarsAsk, player: &Player) -> Option<Limit> {
    let (air, at, bar) = bars.stretch?;
    (air > 0.0 && player.breath.seconds > 0.0).then(|| Limit {
        holds: Holds::Breath,
        quarters_a_minute: air * at / player.breath.seconds,
        bar: Some(bar),
        why: "slower than this, the longest stretch without a place to breathe is longer than the breath"
            .to_owned(),
    })
}

fn reason(first: &FirstTempo, breath: Option<&Limit>, slow: f64) -> String {
    let decides = first.limits.iter().find(|limit| limit.holds == first.holds);
    let mut says = vec![match first.holds {
        Holds::Reading => "There is so much to read that the eyes decide.".to_owned(),
        Holds::Hands => "The hands decide.".to_owned(),
        Holds::Marking => format!(
            "{}, slow enough to read at; start no faster.",
            decides.map_or_else(|| "A tempo is marked".to_owned(), |limit| capital(&limit.why))
        ),
        Holds::Subdivision | Holds::Tongue | Holds::Breath => {
            format!(
                "{}.",
                decides.map(|limit| capital(&limit.why)).unwrap_or_default()
            )
        }
    }];
    if breath.is_some_and(|limit| limit.quarters_a_minute > slow) {
        says.push(
            "So slowly the longest stretch is more than one breath: at first breathe wherever you must, the note before it cut short."
                .to_owned(),
        );
    }
    says.join(" ")
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map(|first| first.to_uppercase().chain(chars).collect())
        .unwrap_or_default()
}
