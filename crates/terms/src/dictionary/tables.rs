//! What do the tables hold? Written by `build.rs` from the files under `data/`.

use super::index::{Index, Key};
use super::{Cells, Dictionary, ModifierRow, Target, TermRow, WordList};
use crate::kind::{Kind, Language, Part};

include!(concat!(env!("OUT_DIR"), "/tables.rs"));
