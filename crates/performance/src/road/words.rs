//! What do the words tell the player to do? The dictionary's reading, brought down to what the order needs.

use super::jumps::JumpKind;
use terms::road::{Repeats, RoadKind, Target, road_words};

/// The signs as they stand in a sentence. Source: Unicode, Musical Symbols, U+1D10B segno and U+1D10C coda.
pub(super) const SEGNO_SIGN: &str = "\u{1D10B}";
pub(super) const CODA_SIGN: &str = "\u{1D10C}";

/// One instruction.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Instruction {
    Jump(JumpWords),
    Fine,
    ToCoda,
    Coda,
    Segno,
    /// `al Fine`, `segue la coda`, `senza replica` standing alone: it completes a jump nearby.
    Tail(Tail),
    /// `play 4 times`, `bis`: of the repeat that ends here or next.
    Times(u32),
}

/// What a D.C. or D.S. can say besides where to go.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) struct Tail {
    /// `al Fine`
    pub to_fine: bool,
    /// `al Coda`
    pub to_coda: bool,
    /// `al segno`: to the sign, and on to what follows.
    pub to_sign: bool,
    /// `poi segue la Coda`
    pub then_coda: bool,
    /// `con replica`, `senza replica`
    pub repeats: Option<bool>,
}

impl Tail {
    /// Both together.
    pub(super) fn and(self, other: Self) -> Self {
        Self {
            to_fine: self.to_fine || other.to_fine,
            to_coda: self.to_coda || other.to_coda,
            to_sign: self.to_sign || other.to_sign,
            then_coda: self.then_coda || other.then_coda,
            repeats: self.repeats.or(other.repeats),
        }
    }
}

/// A D.C. or D.S. with all that its sentence says.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct JumpWords {
    pub kind: JumpKind,
    pub tail: Tail,
    /// The section is named: `Menuetto da capo`.
    pub section: Option<String>,
    /// How often it is taken: twice for `ancora una volta il trio, e di nuovo da capo`.
    pub times: u32,
}

impl JumpWords {
    pub(super) const fn plain(kind: JumpKind) -> Self {
        let tail = Tail {
            to_fine: false,
            to_coda: false,
            to_sign: false,
            then_coda: false,
            repeats: None,
        };
        Self {
            kind,
            tail,
            section: None,
            times: 1,
        }
    }
}

/// The instructions in a text, in order.
pub(super) fn read(text: &str) -> Vec<Instruction> {
    road_words(text)
        .iter()
        .filter_map(|word| instruction(word, text))
        .collect()
}

fn instruction(word: &terms::road::RoadWord, text: &str) -> Option<Instruction> {
    let tail = Tail {
        to_fine: word.until == Some(Target::Fine),
        to_coda: word.until == Some(Target::Coda),
        to_sign: word.until == Some(Target::Sign),
        then_coda: word.then == Some(Target::Coda),
        repeats: word.repeats.map(|repeats| repeats == Repeats::With),
    };
    let jump = |kind| {
        // `M.D.C.`: the letter stands for the minuet.
        let letter = word.text.starts_with(['M', 'm']).then(|| "men".to_owned());
        let section = word.section.clone().or(letter);
        Instruction::Jump(JumpWords {
            kind,
            tail,
            section,
            times: times(text),
        })
    };
    Some(match word.kind {
        RoadKind::DaCapo => jump(JumpKind::DaCapo),
        RoadKind::DalSegno => jump(JumpKind::DalSegno),
        RoadKind::ToCoda => Instruction::ToCoda,
        RoadKind::CodaHere => Instruction::Coda,
        RoadKind::SegnoHere => Instruction::Segno,
        RoadKind::FineHere => Instruction::Fine,
        RoadKind::Continuation | RoadKind::RepeatsRule => Instruction::Tail(tail),
        RoadKind::Segue if tail.then_coda => Instruction::Tail(tail),
        RoadKind::PlayTimes(times) => Instruction::Times(u32::from(times)),
        RoadKind::Bis => Instruction::Times(2),
        _ => return None,
    })
}

/// How often the jump is taken: twice where the middle section is asked for once more.
fn times(text: &str) -> u32 {
    let plain = text
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .to_lowercase();
    if plain.contains("ancora una volta") && plain.contains("nuovo") {
        2
    } else {
        1
    }
}
