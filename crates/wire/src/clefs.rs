//! Question 10 as JSON.

use crate::at::{At, InBar, Places};
use schemars::JsonSchema;
use serde::Serialize;
use survey::clefs::ClefsAnswer;

/// A clef as it stands in the source.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Clef {
    /// Sign, line and octave: `G2`, `F4`, `C3`, `G2-1` (an octave lower); `percussion`, `TAB5`, `none`.
    pub clef: String,
    /// The trade's name: treble, bass, tenor.
    pub name: String,
    /// The staff it is for, from 1; null for all.
    pub staff: Option<u8>,
    /// True if this clef was in force already.
    pub restated: bool,
    /// Where.
    #[serde(flatten)]
    pub at: At,
}

/// Which bars are read in a clef.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ClefUse {
    /// The staff, from 1.
    pub staff: u8,
    /// The clef.
    pub clef: String,
    /// The trade's name.
    pub name: String,
    /// The bars in which it is in force at least in part.
    pub bars: Vec<InBar>,
    /// How many notes are read in it.
    pub notes: usize,
}

/// `G2`, `G2-1`, `F4`, `percussion`: sign, line, octave.
pub(crate) fn code(clef: notation::Clef) -> String {
    use notation::ClefSign;
    match clef.sign {
        ClefSign::Percussion => "percussion".to_owned(),
        ClefSign::None => "none".to_owned(),
        ClefSign::Jianpu => "jianpu".to_owned(),
        ClefSign::Tab => format!("TAB{}", clef.line),
        sign => match clef.octave_change {
            0 => format!("{sign:?}{}", clef.line),
            octaves => format!("{sign:?}{}{octaves:+}", clef.line),
        },
    }
}

pub(crate) fn clefs(answer: &ClefsAnswer, places: Places) -> Vec<Clef> {
    answer
        .all
        .iter()
        .map(|here| Clef {
            clef: code(here.clef),
            name: here.clef.name(),
            staff: here.staff,
            restated: here.restated,
            at: places.at(here.place, Some(here.element)),
        })
        .collect()
}

pub(crate) fn uses(answer: &ClefsAnswer, places: Places) -> Vec<ClefUse> {
    answer
        .staves
        .iter()
        .flat_map(|staff| staff.read_in.iter().map(move |read| (staff.staff, read)))
        .map(|(staff, read)| ClefUse {
            staff,
            clef: code(read.clef),
            name: read.clef.name(),
            bars: places.bars(&read.bars),
            notes: read.notes,
        })
        .collect()
}
