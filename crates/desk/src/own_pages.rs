//! How much of the teacher's own pages is read right? Each page of a folder beside a file that says what stands on it, read again and held
//! against it.

use crate::DeskError;
use crate::open::{open, read_bytes};
use crate::scan::{are_pages, scan};
use notation::{DirectionKind, Event, EventKind, Part, Piece};
use printer::Printer;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// What came of one page.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OwnPage {
    /// The file of pages.
    pub path: PathBuf,
    /// Signs that stand on it, and how many of them were read otherwise, missed or invented.
    pub signs: usize,
    /// The wrong ones.
    pub signs_wrong: usize,
    /// Bars that stand on it, and how many were read exactly.
    pub bars: usize,
    /// The right ones.
    pub bars_right: usize,
    /// Words that stand on it (title, names, tempo, metronome, rehearsal marks, words, dynamics), and how many were read exactly, in their bar.
    pub words: usize,
    /// The right ones.
    pub words_right: usize,
    /// Why it could not be read, if it couldn't.
    pub failed: Option<String>,
}

/// Reads every page of a folder that has a notation file of the same name beside it.
///
/// # Errors
/// If the folder can't be read, or holds no page with what stands on it.
pub fn own_pages(folder: &Path, printer: &mut Printer) -> Result<Vec<OwnPage>, DeskError> {
    let listed = std::fs::read_dir(folder).map_err(|source| DeskError::Unreadable {
        path: folder.to_path_buf(),
        source,
    })?;
    let mut pages: BTreeMap<PathBuf, PathBuf> = BTreeMap::new();
    for entry in listed.flatten() {
        let path = entry.path();
        let known = ["musicxml", "mxl", "xml", "mei"]
            .iter()
            .map(|ending| path.with_extension(ending))
            .find(|beside| *beside != path && beside.is_file());
        if let Some(known) = known
            && read_bytes(&path).is_ok_and(|bytes| are_pages(&bytes))
        {
            pages.insert(path, known);
        }
    }
    if pages.is_empty() {
        return Err(DeskError::NoOwnPages {
            path: folder.to_path_buf(),
        });
    }
    pages
        .into_iter()
        .map(|(page, known)| one(&page, &known, printer))
        .collect()
}

fn one(page: &Path, known: &Path, printer: &mut Printer) -> Result<OwnPage, DeskError> {
    let stands = Told::of(&open(known)?.piece);
    let (read, failed) = match scan(&[page.to_path_buf()], printer) {
        Ok(scanned) => (Told::of(&scanned.read.piece), None),
        // The press is needed for every page; what is wrong with one page is that page's.
        Err(error @ DeskError::Press(_)) => return Err(error),
        Err(error) => (Told::default(), Some(error.to_string())),
    };
    Ok(OwnPage {
        path: page.to_path_buf(),
        signs: stands.signs.len(),
        signs_wrong: apart(&stands.signs, &read.signs),
        bars: stands.bars.len(),
        bars_right: same(&stands.bars, &read.bars),
        words: stands.words.len(),
        words_right: in_both(&stands.words, &read.words),
        failed,
    })
}

/// A piece as words: one a sign, one a bar.
#[derive(Default)]
struct Told {
    signs: Vec<String>,
    bars: Vec<String>,
    words: Vec<String>,
}

impl Told {
    /// The first part: what a page of a single-line part holds.
    fn of(piece: &Piece) -> Self {
        let mut bars: Vec<Vec<String>> = vec![Vec::new(); piece.bars.len()];
        let mut changes: Vec<Vec<String>> = vec![Vec::new(); piece.bars.len()];
        let Some(part) = piece.parts.first() else {
            return Self::default();
        };
        let mut put = |bar: usize, words: String| {
            if let Some(bar) = changes.get_mut(bar) {
                bar.push(words);
            }
        };
        for clef in &part.clefs {
            put(clef.place.bar.get(), format!("{} clef", clef.value.name()));
        }
        for key in &part.keys {
            put(key.place.bar.get(), format!("key {}", key.value.name()));
        }
        for metre in &part.metres {
            put(metre.place.bar.get(), format!("metre {}", metre.value.name()));
        }
        for line in piece
            .barlines
            .iter()
            .filter(|line| line.repeat.is_some() || line.ending.is_some())
        {
            let repeat = line.repeat.as_ref().map(|repeat| repeat.forward);
            let ending = line.ending.as_ref().map(|ending| ending.number.as_str());
            put(
                line.place.bar.get(),
                format!("{:?} {repeat:?} {ending:?}", line.side),
            );
        }
        for event in part.events.iter().filter(|event| event.voice == 0 && !event.cue) {
            if let Some(bar) = bars.get_mut(event.place.bar.get()) {
                bar.push(event_said(event));
            }
        }
        Self {
            signs: changes
                .into_iter()
                .zip(&bars)
                .flat_map(|(changes, bar)| changes.into_iter().chain(bar.iter().cloned()))
                .collect(),
            bars: bars.iter().map(|bar| bar.join(" ")).collect(),
            words: words_said(piece, part),
        }
    }
}

/// Words of the head, and what is said at a bar: each as a line, in any order.
fn words_said(piece: &Piece, part: &Part) -> Vec<String> {
    let credits = &piece.credits;
    let title = credits.title.iter().map(|title| format!("title {title}"));
    let people = credits.people.iter().map(|(role, name)| format!("{role} {name}"));
    let part_name = (!part.name.is_empty()).then(|| format!("part {}", part.name));
    let directions = part.directions.iter().filter_map(|direction| {
        let said = match &direction.kind {
            DirectionKind::Words(text) => text.clone(),
            DirectionKind::Dynamic(letters) => format!("dynamic {letters}"),
            DirectionKind::Rehearsal(text) => format!("rehearsal mark {text}"),
            DirectionKind::Metronome(mark) => {
                format!("{:?} {} {:?}", mark.beat, mark.dots, mark.value)
            }
            DirectionKind::Segno => "segno".to_owned(),
            DirectionKind::Coda => "coda".to_owned(),
            _ => return None,
        };
        Some(format!("{} {said}", direction.place.bar.0))
    });
    title.chain(people).chain(part_name).chain(directions).collect()
}

/// How many stand in both, in any order.
fn in_both(one: &[String], other: &[String]) -> usize {
    let mut left: Vec<&String> = other.iter().collect();
    let there = one.iter().filter(|said| {
        let at = left.iter().position(|other| other == said);
        at.map(|at| left.swap_remove(at)).is_some()
    });
    there.count()
}

/// Pitches, length, ties, grace: what is played.
fn event_said(event: &Event) -> String {
    let length = if event.is_grace() {
        "grace".to_owned()
    } else {
        event.duration.to_string()
    };
    match &event.kind {
        EventKind::Chord(heads) => {
            let heads: Vec<String> = heads
                .iter()
                .map(|head| {
                    let tie = if head.tie_start { "~" } else { "" };
                    head.pitch()
                        .map_or_else(|| "x".to_owned(), |pitch| format!("{pitch}{tie}"))
                })
                .collect();
            format!("{}/{length}", heads.join("+"))
        }
        _ => format!("r/{length}"),
    }
}

/// How many changes lead from one to the other. Source: Levenshtein (1966), by the usual table.
fn apart(one: &[String], other: &[String]) -> usize {
    let mut before: Vec<usize> = (0..=other.len()).collect();
    for (n, a) in one.iter().enumerate() {
        let mut row = vec![n + 1];
        for (m, b) in other.iter().enumerate() {
            let swap = before[m] + usize::from(a != b);
            row.push(swap.min(before[m + 1] + 1).min(row[m] + 1));
        }
        before = row;
    }
    before.last().copied().unwrap_or(0)
}

/// How many stand in both in the same order: the longest common run.
fn same(one: &[String], other: &[String]) -> usize {
    let mut before = vec![0; other.len() + 1];
    for a in one {
        let mut row = vec![0];
        for (m, b) in other.iter().enumerate() {
            row.push(if a == b {
                before[m] + 1
            } else {
                before[m + 1].max(row[m])
            });
        }
        before = row;
    }
    before.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]

    use super::{Told, apart, in_both, same};

    #[test]
    fn a_wrong_note_is_one_sign_and_one_bar_and_a_bar_left_out_is_only_itself() {
        let told = |sketch: &str| Told::of(&notation::sketch(sketch).unwrap());
        let page = told("C4/q D4/q E4/h | F4/w | G4/w |");
        let slip = told("C4/q D4/q F4/h | F4/w | G4/w |");
        let short = told("C4/q D4/q E4/h | G4/w |");
        assert_eq!(
            (apart(&page.signs, &slip.signs), same(&page.bars, &slip.bars)),
            (1, 2)
        );
        assert_eq!(
            (apart(&page.signs, &short.signs), same(&page.bars, &short.bars)),
            (1, 2)
        );
        assert_eq!(
            (apart(&page.signs, &page.signs), same(&page.bars, &page.bars)),
            (0, 3)
        );
    }

    #[test]
    fn words_count_with_their_bar_in_any_order_and_each_once() {
        let words = |of: &[&str]| of.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>();
        let page = words(&["title Lied", "0 Lento", "4 dolce", "4 dolce"]);
        assert_eq!(
            in_both(&page, &words(&["4 dolce", "0 Lento", "title Lied", "4 dolce"])),
            4
        );
        assert_eq!(in_both(&page, &words(&["4 dolce", "1 Lento", "title Leid"])), 1);
    }
}
