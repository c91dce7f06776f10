//! Which clefs are read, where do they change, and does one of them change what sounds?
//!
//! Clefs that are read in more than one way on the instrument are asked about, with both readings and what speaks for
//! each; nothing is decided in silence, and nothing at all where the file itself settles it.

mod question;

pub(crate) use question::open_clefs;
pub use question::{ClefQuestion, ReadingFit};

use crate::{Context, Evidence};
use instruments::{Habit, Identified};
use notation::{BarIndex, Change, Clef, ClefSign, Finding, Id, Place, Severity};

/// The answer to question 10.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct ClefsAnswer {
    /// Every clef of the source in order of place, restated ones too.
    pub all: Vec<ClefHere>,
    /// By staff: the clef at the start, real changes, and what is read in each clef.
    pub staves: Vec<StaffClefs>,
    /// Clefs read in more than one way.
    pub questions: Vec<ClefQuestion>,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
    /// What is unusual or must be asked.
    pub findings: Vec<Finding>,
}

/// One clef as it stands in the source.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct ClefHere {
    /// Where.
    pub place: Place,
    /// The change.
    pub element: Id,
    /// The staff it is for, from 1; `None` for all.
    pub staff: Option<u8>,
    /// The clef.
    pub clef: Clef,
    /// False if the source says that it is not printed.
    pub printed: bool,
    /// True if the same clef was in force already.
    pub restated: bool,
}

/// Clefs of one staff.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct StaffClefs {
    /// The staff, from 1.
    pub staff: u8,
    /// The clef at the start.
    pub start: Option<Clef>,
    /// Changes to another clef, in order.
    pub changes: Vec<ClefHere>,
    /// What is read in each clef, in order of first appearance.
    pub read_in: Vec<ReadIn>,
}

/// What is read in one clef.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ReadIn {
    /// The clef.
    pub clef: Clef,
    /// The bars in which it is in force for at least a part of the bar.
    pub bars: Vec<BarIndex>,
    /// How many heads are read in it.
    pub notes: usize,
}

/// Answers question 10 for a part.
#[must_use]
pub fn answer(ctx: &Context, identified: Option<&Identified>) -> ClefsAnswer {
    let staves: Vec<StaffClefs> = (1..=ctx.part.staves.max(1))
        .map(|staff| staff_clefs(ctx, staff))
        .collect();
    let mut answer = ClefsAnswer {
        all: all(ctx),
        questions: identified
            .map(|i| question::questions(ctx, i))
            .unwrap_or_default(),
        evidence: evidence(&staves),
        means: means(ctx, &staves),
        staves,
        findings: Vec::new(),
    };
    answer
        .findings
        .extend(answer.questions.iter().map(|q| q.finding(ctx)));
    if let Some(identified) = identified {
        answer.findings.extend(unusual(ctx, &answer, identified));
    }
    answer
}

fn all(ctx: &Context) -> Vec<ClefHere> {
    let mut in_force = vec![None; usize::from(ctx.part.staves).max(1)];
    ctx.part
        .clefs
        .iter()
        .map(|change| {
            let slots = match change.staff {
                Some(staff) => in_force.get_mut(usize::from(staff).saturating_sub(1)..usize::from(staff)),
                None => in_force.get_mut(..),
            }
            .unwrap_or(&mut []);
            let restated = !slots.is_empty() && slots.iter().all(|clef| *clef == Some(change.value));
            slots.fill(Some(change.value));
            here(change, restated)
        })
        .collect()
}

fn here(change: &Change<Clef>, restated: bool) -> ClefHere {
    ClefHere {
        place: change.place,
        element: change.id,
        staff: change.staff,
        clef: change.value,
        printed: change.printed,
        restated,
    }
}

fn staff_clefs(ctx: &Context, staff: u8) -> StaffClefs {
    let of_staff: Vec<&Change<Clef>> = ctx
        .part
        .clefs
        .iter()
        .filter(|change| change.staff.is_none_or(|s| s == staff))
        .collect();
    let mut answer = StaffClefs {
        staff,
        ..StaffClefs::default()
    };
    let mut in_force = None;
    for change in &of_staff {
        if in_force.is_none() {
            answer.start = Some(change.value);
        } else if in_force != Some(change.value) {
            answer.changes.push(here(change, false));
        }
        in_force = Some(change.value);
    }
    answer.read_in = read_in(ctx, staff, &of_staff);
    answer
}

/// Bars and notes by clef, in one pass over bars and heads.
fn read_in(ctx: &Context, staff: u8, of_staff: &[&Change<Clef>]) -> Vec<ReadIn> {
    let mut read: Vec<ReadIn> = Vec::new();
    let mut next = 0;
    let mut in_force: Option<Clef> = None;
    for (index, bar) in ctx.piece.bars.iter().enumerate() {
        let bar_index = BarIndex::from_usize(index);
        let mut events = ctx.part.bar_events(bar_index).iter().peekable();
        let mut from = Place::start_of(bar_index);
        loop {
            // Clefs at the bar's very end are for the next bar.
            while let Some(change) = of_staff.get(next).filter(|change| change.place <= from) {
                in_force = Some(change.value);
                next += 1;
            }
            let until = of_staff
                .get(next)
                .map(|change| change.place)
                .filter(|place| place.bar == bar_index && place.offset < bar.length);
            let mut notes = 0;
            while let Some(event) = events.next_if(|event| until.is_none_or(|until| event.place < until)) {
                notes += event.heads().iter().filter(|head| head.staff == staff).count();
            }
            if let Some(clef) = in_force {
                let entry = match read.iter().position(|r| r.clef == clef) {
                    Some(position) => read.get_mut(position),
                    None => {
                        read.push(ReadIn {
                            clef,
                            bars: Vec::new(),
                            notes: 0,
                        });
                        read.last_mut()
                    }
                };
                if let Some(entry) = entry {
                    entry.notes += notes;
                    if entry.bars.last() != Some(&bar_index) {
                        entry.bars.push(bar_index);
                    }
                }
            }
            match until {
                Some(until) => from = until,
                None => break,
            }
        }
    }
    read
}

fn unusual(ctx: &Context, answer: &ClefsAnswer, identified: &Identified) -> Vec<Finding> {
    let instrument = identified.instrument;
    let mut said: Vec<Clef> = Vec::new();
    let mut findings = Vec::new();
    for here in &answer.all {
        let pitched = matches!(here.clef.sign, ClefSign::G | ClefSign::F | ClefSign::C);
        let asked = answer.questions.iter().any(|q| q.clef == here.clef);
        if instrument.clefs.is_empty() || !pitched || asked || said.contains(&here.clef) {
            continue;
        }
        // An octave mark is a way of writing, not another clef to learn.
        let plain = Clef {
            octave_change: 0,
            ..here.clef
        };
        let habit = instrument
            .habit_of(here.clef)
            .or_else(|| instrument.habit_of(plain));
        let what = match habit {
            Some(Habit::Usual) => continue,
            Some(Habit::Rare) => format!("the {} clef is rare for {}", here.clef.name(), instrument.name),
            None => format!(
                "the {} clef is not usual for {}",
                here.clef.name(),
                instrument.name
            ),
        };
        said.push(here.clef);
        findings.push(
            Finding::new(
                Severity::Note,
                "unusual-clef",
                what,
                "name its lines aloud first, and look whether the part is meant for this instrument",
            )
            .in_part(&ctx.part.name)
            .at_bar(here.place.bar, ctx.label(here.place.bar))
            .at_offset(here.place.offset)
            .about(here.element),
        );
    }
    findings
}

fn evidence(staves: &[StaffClefs]) -> Vec<Evidence> {
    let several = staves.len() > 1;
    let on = |staff: u8| {
        if several {
            format!(" on staff {staff}")
        } else {
            String::new()
        }
    };
    staves
        .iter()
        .flat_map(|staff| {
            staff.changes.iter().map(move |change| Evidence {
                place: Some(change.place),
                element: Some(change.element),
                says: format!("change to the {} clef{}", change.clef.name(), on(staff.staff)),
            })
        })
        .collect()
}

fn means(ctx: &Context, staves: &[StaffClefs]) -> String {
    let changes: usize = staves.iter().map(|staff| staff.changes.len()).sum();
    let clefs: Vec<String> = staves
        .iter()
        .filter_map(|staff| staff.start)
        .map(Clef::name)
        .collect();
    match (clefs.as_slice(), changes) {
        ([], _) => "No clef is given.".to_owned(),
        ([one], 0) => format!("In the {one} clef throughout."),
        (_, 0) => format!("Clefs: {}, without change.", clefs.join(" and ")),
        (_, n) => {
            let bars: Vec<&str> = staves
                .iter()
                .flat_map(|staff| &staff.changes)
                .take(4)
                .map(|change| ctx.label(change.place.bar))
                .collect();
            let more = if n > 4 { " …" } else { "" };
            let plural = if n == 1 { "" } else { "s" };
            format!(
                "Begins in the {} clef; {n} change{plural} (bar{plural} {}{more}). Find the first note after each before playing.",
                clefs.join(" and "),
                bars.join(", ")
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    fn ask(text: &str, name: &str) -> ClefsAnswer {
        let mut piece = sketch(text).expect("a sketch");
        piece.parts[0].name = name.to_owned();
        let identified = instruments::identify(&piece.parts[0]);
        let ctx = Context::new(&piece, 0).expect("a part");
        answer(&ctx, identified.as_ref())
    }

    #[test]
    fn start_changes_and_bars_in_each() {
        let clefs = ask(
            "clef:F4 metre:2/4 C3/h | D3/q clef:C4 A3/q | B3/h | clef:F4 C3/h |",
            "Cello",
        );
        let staff = &clefs.staves[0];
        assert_eq!(staff.start, Some(Clef::BASS));
        let changes: Vec<(u32, String)> = staff
            .changes
            .iter()
            .map(|c| (c.place.bar.0, c.clef.code()))
            .collect();
        assert_eq!(changes, [(1, "C4".into()), (3, "F4".into())]);
        let read: Vec<(String, Vec<u32>, usize)> = staff
            .read_in
            .iter()
            .map(|r| (r.clef.code(), r.bars.iter().map(|b| b.0).collect(), r.notes))
            .collect();
        assert_eq!(
            read,
            [("F4".into(), vec![0, 1, 3], 3), ("C4".into(), vec![1, 2], 2)]
        );
        assert!(clefs.findings.is_empty(), "tenor clef is normal for the cello");
    }

    #[test]
    fn a_restated_clef_is_kept_but_no_change() {
        let clefs = ask("clef:G2 C5/q | clef:G2 D5/q |", "Flute");
        assert_eq!(
            clefs.all.iter().map(|c| c.restated).collect::<Vec<_>>(),
            [false, true]
        );
        assert!(clefs.staves[0].changes.is_empty());
        assert_eq!(clefs.means, "In the treble clef throughout.");
    }

    #[test]
    fn an_unusual_clef_is_said() {
        let clefs = ask("clef:F4 C3/q", "Flute");
        assert_eq!(clefs.findings[0].kind, "unusual-clef");
        assert!(ask("clef:C3 C4/q | clef:C4 C4/q", "Trombone").findings.is_empty());
    }

    use proptest::prelude::*;

    proptest! {
        /// Every note is read in exactly one clef, and every bar in at least one.
        #[test]
        fn notes_and_bars_add_up(tokens in prop::collection::vec(0usize..5, 1..50)) {
            let words = ["C4/q", "D4/e E4/e", "clef:F4", "clef:C4", "| A4/q"];
            let text: Vec<&str> = tokens.iter().map(|t| words[*t]).collect();
            let piece = sketch(&format!("clef:G2 metre:4/4 G4/q {}", text.join(" "))).expect("a sketch");
            let ctx = Context::new(&piece, 0).expect("a part");
            let clefs = answer(&ctx, None);
            let read = &clefs.staves[0].read_in;
            let notes: usize = read.iter().map(|r| r.notes).sum();
            prop_assert_eq!(notes, ctx.part.events.len());
            for bar in 0..piece.bars.len() {
                prop_assert!(read.iter().any(|r| r.bars.contains(&BarIndex::from_usize(bar))));
            }
        }
    }
}
