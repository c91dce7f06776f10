//! A study written out by hand, with one of each thing that can be said.

use crate::Studied;
use instruments::fingering::{Fingering, chart};
use instruments::{Experience, by_id};
use load::alike::{AlikeAnswer, Form, How, LookAlike, Passage, Section};
use load::bowing::{BowSign, BowingAnswer, Stroke};
use load::breath::{Breath, BreathAnswer, Kind};
use load::fingers::{Chosen, FingeringAnswer, Gap};
use load::first_tempo::{FirstTempo, Holds};
use load::ladder::{Climb, Scheme, ladder};
use load::levels::{Criterion, Keys, Level, Modes, Standing, Table};
use load::reading::ReadingAnswer;
use load::spots::Spot;
use load::{Account, BarLoad, Goal, Player, Study};
use notation::{BarIndex, Finding, Id, Pitch, Place, Quarters, Severity, sketch};
use std::sync::Arc;
use survey::metre::BeatUnit;
use survey::phrases::PhrasesAnswer;
use survey::tempo::MetronomeRange;
use survey::{Options, Question};

const PAGE: &str =
    "mm:q=72 key:-2 metre:3/4 F5/q Eb5/q D5/q | F5/e Gb5/e F5/q D5/q | Bb4/h. | G5/q F5/q Eb5/q |";

/// The page for an instrument, studied.
pub fn studied(instrument: &str) -> Studied {
    let mut piece = sketch(PAGE).unwrap();
    piece.parts[0].name = by_id(instrument).unwrap().name.to_owned();
    let survey = survey::survey(&piece, 0, &Question::ALL, &Options::default()).unwrap();
    let grids = survey.metre.as_ref().unwrap().grids.clone();
    let player = Player::usual(by_id(instrument), Experience::Intermediate);
    let breath = if instrument == "viola" {
        bowed()
    } else {
        blown(instrument == "oboe")
    };
    let first = FirstTempo {
        beat: BeatUnit::QUARTER,
        range: MetronomeRange {
            low: 50,
            high: 60,
            click: None,
        },
        quarters_a_minute: (50.0, 60.0),
        holds: Holds::Hands,
        set_by: Some((BarIndex(1), "a flat against the signature: G♭".to_owned())),
        limits: Vec::new(),
        reason: "The hands decide.".to_owned(),
    };
    let study = Study {
        fingering: fingering(instrument, piece.parts[0].events[0].id),
        player,
        phrases: PhrasesAnswer::default(),
        alike: alike(),
        reading: ReadingAnswer::default(),
        hand: Vec::new(),
        findings: breath.findings.clone(),
        breath,
        bars: bars(),
        grids,
        first: Some(first),
        goal: Some(Goal {
            beat: BeatUnit::QUARTER,
            bpm: 72.0,
            from: "the metronome mark".to_owned(),
        }),
        ladder: Some(ladder(
            &Climb::on(BeatUnit::QUARTER, 56.0, 72.0),
            Scheme::UpThreeDownTwo,
        )),
        spots: spots(),
        levels: vec![standing()],
    };
    Studied { piece, survey, study }
}

fn place(bar: u32, quarters: i64) -> Place {
    Place {
        bar: BarIndex(bar),
        offset: Quarters::whole(quarters),
    }
}

fn spots() -> Vec<Spot> {
    let spot = |from, to, also: &[u32], slowly_first| Spot {
        from: BarIndex(from),
        to: BarIndex(to),
        reasons: vec![
            "a flat against the signature: G♭".into(),
            "a leap of a sixth".into(),
        ],
        suggestion: "say the note names aloud, then play them slowly",
        also: also.iter().copied().map(BarIndex).collect(),
        slowly_first,
        weight: 1.0,
    };
    vec![
        spot(1, 1, &[], true),
        spot(0, 0, &[2], true),
        spot(2, 3, &[], false),
    ]
}

fn bars() -> Vec<BarLoad> {
    let asks = |bar, reading, hand| {
        let account = |kind, amount, why| {
            let mut account = Account::default();
            account.add(kind, amount, why);
            account
        };
        BarLoad {
            fullness: reading / 30.0,
            bar: BarIndex(bar),
            reading: account("pitch", reading, "an unexpected leap"),
            hand: account("fingers", hand, "two fingers move"),
            breath: Account::default(),
            breath_secs: None,
            beats: Vec::new(),
        }
    };
    vec![
        asks(0, 14.0, 9.0),
        asks(1, 50.0, 45.0),
        asks(2, 0.0, 0.0),
        asks(3, 30.0, 24.0),
    ]
}

fn alike() -> AlikeAnswer {
    let like = |bar, like, how, differences: &[&str]| LookAlike {
        bar: BarIndex(bar),
        like: BarIndex(like),
        how,
        differences: differences.iter().map(|text| (*text).to_owned()).collect(),
    };
    let section = |from, to, letter: &str| Section {
        bars: (BarIndex(from), BarIndex(to)),
        letter: letter.to_owned(),
    };
    AlikeAnswer {
        look_alikes: vec![
            like(2, 0, How::Same, &[]),
            like(3, 1, How::Steps(-2), &["the last note is natural"]),
        ],
        passages: vec![Passage {
            bars: (BarIndex(2), BarIndex(3)),
            like: (BarIndex(0), BarIndex(1)),
            how: How::Nearly(0),
        }],
        bars_with_notes: 4,
        new_bars: 2,
        form: Form {
            sections: vec![section(0, 1, "A"), section(2, 3, "A′")],
            printed: false,
        },
        summary: "2 of 4 bars are new".to_owned(),
        ..AlikeAnswer::default()
    }
}

fn blown(oboe: bool) -> BreathAnswer {
    let breath = |bar, beat, kind, optional| Breath {
        note: 0,
        place: place(bar, beat),
        kind,
        shortened: None,
        why: if optional {
            "a small phrase may end here; only while it is slow".to_owned()
        } else {
            "a phrase ends".to_owned()
        },
        optional,
        own: false,
        printed: false,
    };
    let out = if oboe { Kind::BreatheOut } else { Kind::Breathe };
    let at_final = vec![breath(1, 0, out, false), breath(2, 0, Kind::OnRest, false)];
    let mut at_first = at_final.clone();
    at_first.push(breath(3, 1, Kind::Breathe, true));
    BreathAnswer {
        at_first,
        at_final,
        findings: vec![
            Finding::new(
                Severity::Note,
                "no-breath",
                "the breath does not reach",
                "stop at a beat and begin again with it",
            )
            .at_bar(BarIndex(3), "4"),
        ],
        summary: "one breath to mark".to_owned(),
        caution: "If you get dizzy, stop and rest.",
        ..BreathAnswer::default()
    }
}

fn bowed() -> BreathAnswer {
    let sign = |bar, stroke, hooked, why| BowSign {
        note: 0,
        place: place(bar, 0),
        stroke,
        hooked,
        why,
    };
    BreathAnswer {
        bowing: Some(BowingAnswer {
            signs: vec![
                sign(0, Stroke::Down, false, "down on the downbeat"),
                sign(
                    1,
                    Stroke::Up,
                    true,
                    "hooked: the short note goes on in the same bow",
                ),
            ],
            strokes: Vec::new(),
            source: "common practice",
        }),
        ..BreathAnswer::default()
    }
}

fn fingering(instrument: &str, event: Id) -> FingeringAnswer {
    let Some(chart) = chart(instrument) else {
        return FingeringAnswer {
            means: "fingerings are charted for winds only.".to_owned(),
            ..FingeringAnswer::default()
        };
    };
    let (bb, gb, g7) = (pitch("Bb4"), pitch("Gb5"), pitch("G7"));
    let chosen = |written, which: usize, at| {
        let fingerings: &[Fingering] = chart.fingerings(written);
        let fingering = fingerings.get(which).or(fingerings.first()).unwrap();
        let alternate = which > 0;
        Chosen {
            place: at,
            event,
            written,
            fingering: Arc::new(fingering.clone()),
            state: fingering.state,
            held: None,
            alternate,
            basic: !alternate,
            own: false,
            reason: alternate.then(|| "two fingers stay where they are".to_owned()),
            tendency: None,
            as_pitch: None,
            said: (!alternate).then(|| "G♭ is fingered as F♯".to_owned()),
        }
    };
    FingeringAnswer {
        chart: Some(chart),
        notes: vec![
            chosen(gb, 0, place(1, 0)),
            chosen(bb, 1, place(2, 0)),
            chosen(bb, 1, place(3, 0)),
        ],
        gaps: vec![Gap {
            place: place(3, 0),
            event,
            written: g7,
            times: 2,
            tendency: None,
            why: "no established fingering is known here, ask a teacher".to_owned(),
        }],
        means: "2 notes lie better with another fingering than the usual one.".to_owned(),
        ..FingeringAnswer::default()
    }
}

fn pitch(name: &str) -> Pitch {
    Pitch::parse(name).unwrap()
}

const LEVEL: Level = Level {
    name: "level II",
    instruments: &[],
    range: None,
    span: None,
    keys: Keys::Unsaid,
    modes: Modes::Both,
    metres: &[],
    changes: None,
    rhythms: None,
    tempo: None,
    bars: None,
    leap: None,
    accidentals: None,
    dynamics: None,
    articulation: None,
};
const LEVELS: &[Level] = &[LEVEL];
const TABLE: Table = Table {
    name: "a table of the test",
    source: "the test",
    about: "for nobody",
    levels: LEVELS,
};

fn standing() -> Standing {
    let criterion = |name, fits, why: &str| Criterion {
        name,
        fits,
        why: why.to_owned(),
    };
    Standing {
        table: &TABLE,
        level: &LEVEL,
        fits: false,
        criteria: vec![
            criterion("keys", Some(true), "within 2 flats"),
            criterion("range", Some(false), "F5 is above E5"),
            criterion("tempo", None, "the table doesn't say"),
        ],
    }
}
