//! How does a piece become a file of another standard? The ending of the new file says which; what can't be carried over
//! is said.

use crate::{DeskError, Opened, choose_part, part_of};
use formats::{FormatError, MidiOptions};
use notation::{BarIndex, Finding, Piece, Severity};
use performance::road::{PlayedBar, RepeatsAfterJump, RoadOptions, Unfolding, unfold};
use std::collections::BTreeSet;
use std::path::Path;

/// What to write.
#[derive(Clone, Debug, Default)]
pub struct ConvertAsked {
    /// Only this part, by its number from 1 or by its name.
    pub part: Option<String>,
    /// For a file that sounds: the bars once as they are written, repeats and jumps not taken.
    pub as_written: bool,
    /// For a file that sounds: repeats are taken again after a D.C. or D.S.
    pub repeats_after_jump: bool,
}

/// A standard that can be written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Target {
    /// MusicXML 4.0.
    MusicXml,
    /// MusicXML 4.0, compressed.
    Mxl,
    /// MEI 5.
    Mei,
    /// A Standard MIDI file.
    Midi,
}

/// The bytes of the new file, and what its reader should know.
#[derive(Debug)]
pub struct Converted {
    /// What to write.
    pub bytes: Vec<u8>,
    /// What was found on reading, what could not be carried over, and in whose order bars sound.
    pub findings: Vec<Finding>,
}

/// Endings, what each stands for, and how a musician calls it.
const TARGETS: [(&str, Target); 6] = [
    ("musicxml", Target::MusicXml),
    ("xml", Target::MusicXml),
    ("mxl", Target::Mxl),
    ("mei", Target::Mei),
    ("mid", Target::Midi),
    ("midi", Target::Midi),
];

impl Target {
    /// The standard that a file's ending asks for.
    ///
    /// # Errors
    /// If it asks for none that we write; the message names those.
    pub fn of(path: &Path) -> Result<Self, DeskError> {
        let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
        let known = TARGETS.iter().find(|(name, _)| ending.as_deref() == Some(*name));
        known
            .map(|(_, target)| *target)
            .ok_or_else(|| DeskError::NotWritten {
                path: path.to_path_buf(),
                ending: ending.map_or_else(|| "a file without an ending".to_owned(), |e| format!(".{e}")),
                known: TARGETS
                    .iter()
                    .map(|(name, _)| format!(".{name}"))
                    .collect::<Vec<_>>()
                    .join(", "),
            })
    }
}

/// Makes a piece, or one part of it, into the bytes of another standard.
///
/// # Errors
/// If there is no such part, or the standard can't hold the piece.
pub fn convert(opened: &Opened, target: Target, asked: &ConvertAsked) -> Result<Converted, DeskError> {
    let mut findings = opened.findings.clone();
    let alone = match &asked.part {
        None => None,
        Some(part) => {
            let index = choose_part(opened, Some(part))?.index;
            let name = crate::survey_piece::part_name(&opened.piece, index);
            findings.retain(|finding| finding.part.as_ref().is_none_or(|of| *of == name));
            findings.extend(crate::part_of::concert::finding(&opened.piece, index));
            part_of(&opened.piece, index)
        }
    };
    let piece = alone.as_ref().unwrap_or(&opened.piece);
    let text = |(text, findings): (String, _)| (text.into_bytes(), findings);
    let refused = |source| DeskError::Format {
        path: opened.path.clone(),
        source,
    };
    let (bytes, found) = match target {
        Target::MusicXml => text(formats::write_musicxml(piece)),
        Target::Mxl => formats::write_mxl(piece).map_err(refused)?,
        Target::Mei => {
            let options = formats::MeiOptions {
                // A rest of several bars as one sign makes sense where nobody else plays.
                bar_signs: piece.parts.len() == 1,
                ..formats::MeiOptions::default()
            };
            text(formats::write_mei(piece, &options))
        }
        Target::Midi => sounding(piece, asked).map_err(refused)?,
    };
    findings.extend(found);
    Ok(Converted { bytes, findings })
}

/// A MIDI file of the bars in the order in which they are played.
fn sounding(piece: &Piece, asked: &ConvertAsked) -> Result<(Vec<u8>, Vec<Finding>), FormatError> {
    if asked.as_written {
        return formats::write_midi(piece, &MidiOptions::default());
    }
    let road = unfold(
        piece,
        &RoadOptions {
            repeats_after_jump: if asked.repeats_after_jump {
                RepeatsAfterJump::Yes
            } else {
                RepeatsAfterJump::No
            },
        },
    );
    let (order, mut findings) = bars_played(piece, &road);
    let options = MidiOptions {
        order: Some(&order),
        ..MidiOptions::default()
    };
    let (bytes, found) = formats::write_midi(piece, &options)?;
    findings.extend(road.findings);
    findings.extend(found);
    Ok((bytes, findings))
}

/// The bars as played. A bar cut by a repeat or jump sounds whole each time, and a finding says so.
fn bars_played(piece: &Piece, road: &Unfolding) -> (Vec<BarIndex>, Vec<Finding>) {
    // What is cut but read straight on is one bar.
    let mut bars: Vec<PlayedBar> = Vec::new();
    for played in &road.played {
        match bars.last_mut() {
            Some(last) if last.bar == played.bar && last.to == played.from => last.to = played.to,
            _ => bars.push(*played),
        }
    }
    let cut = |played: &&PlayedBar| {
        let whole = piece.bars.get(played.bar.get()).map(|bar| bar.length);
        whole.is_some_and(|length| played.length() < length)
    };
    let cut: BTreeSet<BarIndex> = bars.iter().filter(cut).map(|played| played.bar).collect();
    let findings = cut.into_iter().map(|bar| {
        Finding::new(
            Severity::Caution,
            "cut-bar-sounds-whole",
            "a repeat or jump cuts this bar; in the file it sounds whole each time",
            "count on a longer bar there",
        )
        .at_bar(bar, piece.label(bar))
    });
    (bars.iter().map(|played| played.bar).collect(), findings.collect())
}
