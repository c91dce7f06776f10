//! What stands on a printed page? A file's page as ink, its systems straightened, and the trained network's scores of each.
//!
//! What the scores mean is not known here: `crates/pageread` in the light program makes signs, bars and a piece of them.

mod crop;
mod finder;
mod grey;
mod net;
mod picture;
mod reader;
mod speller;
mod staves;
mod words;

use crate::refusal;
use crop::Crop;
use finder::Finder;
use grey::Grey;
use job::{Answer, AskSee, Letter, Refusal, RefusalKind, SeenPage, SeenSystem, SeenWords, SmallStaff};
use reader::Reader;
use speller::Speller;
use staves::{SPACE, line_distance, small_staves, staves};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// Systems are read so many at a time: the two cores that every machine has.
const AT_A_TIME: usize = 2;

/// What is kept between pages: the network made ready for one width.
#[derive(Default)]
pub struct Eye {
    reader: Option<Reader>,
    finder: Option<Finder>,
    speller: Speller,
}

impl Eye {
    /// One page of a file: where its systems are, and as blobs their scores, then the page itself if asked for.
    ///
    /// # Errors
    /// If the file is no picture or PDF that can be read, or has no such page; if the network doesn't run.
    pub fn see(&mut self, file: &[u8], ask: &AskSee) -> Result<Letter<Answer>, Refusal> {
        let page = picture::page(file, ask.page)?;
        let (mut crops, beyond, small) = systems(&page.ink);
        let mut blobs = self.scores(&crops)?;
        let systems = crops.len();
        crops.extend(beyond);
        let mut words = self.words(&crops)?;
        let beyond = words.split_off(systems);
        let beside = crops.iter().skip(systems).zip(beyond);
        let beside = beside.flat_map(|(crop, words)| words.into_iter().map(|word| on_page(crop, word)));
        let beside = beside.collect();
        crops.truncate(systems);
        if ask.strips {
            for crop in &crops {
                blobs.push(picture::png(&crop::strip(&page.ink, crop))?);
            }
        }
        if ask.picture {
            blobs.push(picture::png(&page.ink)?);
        }
        let size = |pixels: usize| u32::try_from(pixels).unwrap_or(u32::MAX);
        let seen = SeenPage {
            pages: page.of,
            width: size(page.ink.width),
            height: size(page.ink.height),
            systems: crops
                .iter()
                .zip(words)
                .map(|(crop, words)| seen_system(crop, words))
                .collect(),
            words: beside,
            small,
        };
        Ok(Letter {
            head: Answer::Seen(seen),
            blobs,
        })
    }

    /// The scores of every system, in their order.
    fn scores(&mut self, crops: &[Crop]) -> Result<Vec<Vec<u8>>, Refusal> {
        let Some(widest) = crops.iter().map(|crop| crop.grey.width).max() else {
            return Ok(Vec::new());
        };
        let reader = match self.reader.take() {
            Some(ready) if ready.is_for(widest) => ready,
            _ => Reader::for_width(widest)?,
        };
        let reader = self.reader.insert(reader);
        let all = together(crops.len(), |at| reader.read(&crops[at]))?;
        let bytes = |scores: Vec<f32>| scores.iter().flat_map(|score| score.to_le_bytes()).collect();
        Ok(all.into_iter().map(bytes).collect())
    }

    /// The words of every picture, in their order.
    fn words(&mut self, crops: &[Crop]) -> Result<Vec<Vec<SeenWords>>, Refusal> {
        let Some(widest) = crops.iter().map(|crop| crop.grey.width).max() else {
            return Ok(Vec::new());
        };
        let finder = match self.finder.take() {
            Some(ready) if ready.is_for(widest) => ready,
            _ => Finder::for_width(widest)?,
        };
        let finder = self.finder.insert(finder);
        words::words(crops, finder, &mut self.speller)
    }
}

/// Does so many pieces of work, [`AT_A_TIME`] at a time; the answers in order, or the first refusal.
fn together<T: Send>(
    count: usize,
    work: impl Fn(usize) -> Result<T, Refusal> + Sync,
) -> Result<Vec<T>, Refusal> {
    let next = AtomicUsize::new(0);
    let hand = || {
        let mut out = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            if at >= count {
                return out;
            }
            out.push((at, work(at)));
        }
    };
    let mut all = thread::scope(|scope| {
        let hands: Vec<_> = (0..AT_A_TIME.min(count)).map(|_| scope.spawn(hand)).collect();
        let mut all = Vec::with_capacity(count);
        for hand in hands {
            all.extend(hand.join().unwrap_or_default());
        }
        all
    });
    all.sort_by_key(|(at, _)| *at);
    if all.len() < count {
        return Err(refusal(
            RefusalKind::Machine,
            "the reading of a page stopped on the way",
        ));
    }
    all.into_iter().map(|(_, answer)| answer).collect()
}

fn on_page(crop: &Crop, word: SeenWords) -> SeenWords {
    SeenWords {
        bounds: words::on_page(crop, &word.bounds),
        ..word
    }
}

fn seen_system(crop: &Crop, words: Vec<SeenWords>) -> SeenSystem {
    SeenSystem {
        left: crop.left,
        scale: crop.scale,
        middle: crop.middle,
        width: u32::try_from(crop.grey.width).unwrap_or(u32::MAX),
        words,
    }
}

/// The systems of a page from top to bottom, none where no staff is found; what is above the first and below the last; and smaller staves
/// beside them.
fn systems(page: &Grey) -> (Vec<Crop>, Vec<Crop>, Vec<SmallStaff>) {
    let flat = page.flattened();
    let Some(distance) = line_distance(&flat) else {
        return (Vec::new(), Vec::new(), Vec::new());
    };
    let scale = SPACE / distance;
    let (flat, sized) = if (0.97..1.03).contains(&scale) {
        (flat, page.clone())
    } else {
        (flat.scaled(scale), page.scaled(scale))
    };
    let scale = if (0.97..1.03).contains(&scale) { 1.0 } else { scale };
    let staves = staves(&flat);
    let small = small_staves(&flat, &staves).into_iter().map(|staff| SmallStaff {
        left: staff.left / scale,
        right: staff.right / scale,
        middle: staff.middle((staff.left + staff.right) / 2.0).0 / scale,
    });
    let small = small.collect();
    let systems = staves.iter().map(|staff| crop::crop(&sized, staff, scale));
    let mut beyond = crop::beyond(&sized, &staves, scale);
    beyond.retain(|crop| !crop.is_blank());
    (systems.collect(), beyond, small)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_without_staff_has_no_systems() {
        let (found, _, small) = systems(&Grey::blank(400, 300));
        assert!(found.is_empty() && small.is_empty());
    }
}
