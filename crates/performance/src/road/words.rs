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

/// More texts than this at one place are no sentence.
const SENTENCE_TEXTS: usize = 4;

/// The instructions in the texts that stand at one place, with the signs among them as one sentence: read together
/// where they complete each other (`D.S.` and `al Fine`), else one by one.
pub(super) fn read_together(texts: &[&str], sentence: &str) -> Vec<Instruction> {
    let apart: Vec<Instruction> = texts.iter().flat_map(|text| read(text)).collect();
    if texts.len() > SENTENCE_TEXTS || texts == [sentence] {
        return apart;
    }
    let together = read(sentence);
    let sign = sentence.contains(SEGNO_SIGN) || sentence.contains(CODA_SIGN);
    if sign || !together.is_empty() && together.len() < apart.len() {
        together
    } else {
        apart
    }
}

fn read(text: &str) -> Vec<Instruction> {
    let meant = |word: &&terms::road::RoadWord| !is_stray(word, text);
    road_words(text)
        .iter()
        .filter(meant)
        .filter_map(|word| instruction(word, text))
        .collect()
}

/// `DC` without dots in the midst of other words is a syllable, not a da capo.
fn is_stray(word: &terms::road::RoadWord, text: &str) -> bool {
    let bare = word.text.chars().count() == 2 && !word.text.contains('.');
    let before = text.get(..word.range.start).unwrap_or_default();
    bare && matches!(word.kind, RoadKind::DaCapo | RoadKind::DalSegno) && before.contains(char::is_alphabetic)
}

/// Names of second sections, after which the first comes again. Source: common practice.
const SECOND_SECTIONS: [&str; 6] = ["trio", "minore", "maggiore", "alternativo", "minor", "major"];

/// The heading of a section after which the first one comes again.
pub(super) fn is_section_name(text: &str) -> bool {
    let text = text.to_lowercase();
    let named = |name: &str| {
        text.strip_prefix(name)
            .is_some_and(|rest| !rest.starts_with(char::is_alphabetic))
    };
    SECOND_SECTIONS.iter().any(|name| named(name))
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
