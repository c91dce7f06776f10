//! What stands on a printed page? A file's page as ink, its systems straightened, and the trained network's scores of each.
//!
//! What the scores mean is not known here: `crates/pageread` in the light program makes signs, bars and a piece of them.

mod crop;
mod grey;
mod picture;
mod reader;
mod staves;

use crate::refusal;
use crop::Crop;
use grey::Grey;
use job::{Answer, AskSee, Letter, Refusal, RefusalKind, SeenPage, SeenSystem};
use reader::Reader;
use staves::{SPACE, line_distance, staves};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// Systems are read so many at a time: the two cores that every machine has.
const AT_A_TIME: usize = 2;

/// What is kept between pages: the network made ready for one width.
#[derive(Default)]
pub struct Eye {
    reader: Option<Reader>,
}

impl Eye {
    /// One page of a file: where its systems are, and as blobs their scores, then the page itself if asked for.
    ///
    /// # Errors
    /// If the file is no picture or PDF that can be read, or has no such page; if the network doesn't run.
    pub fn see(&mut self, file: &[u8], ask: &AskSee) -> Result<Letter<Answer>, Refusal> {
        let page = picture::page(file, ask.page)?;
        let crops = systems(&page.ink);
        let mut blobs = self.scores(&crops)?;
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
            systems: crops.iter().map(seen_system).collect(),
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
        let next = AtomicUsize::new(0);
        let work = || {
            let mut out = Vec::new();
            loop {
                let at = next.fetch_add(1, Ordering::Relaxed);
                let Some(crop) = crops.get(at) else {
                    return out;
                };
                out.push((at, reader.read(crop)));
            }
        };
        let mut all = thread::scope(|scope| {
            let hands: Vec<_> = (0..AT_A_TIME.min(crops.len()))
                .map(|_| scope.spawn(work))
                .collect();
            let mut all = Vec::with_capacity(crops.len());
            for hand in hands {
                all.extend(hand.join().unwrap_or_default());
            }
            all
        });
        all.sort_by_key(|(at, _)| *at);
        if all.len() < crops.len() {
            return Err(refusal(
                RefusalKind::Machine,
                "the reading of a page stopped on the way",
            ));
        }
        all.into_iter()
            .map(|(_, scores)| {
                scores.map(|scores| scores.iter().flat_map(|score| score.to_le_bytes()).collect())
            })
            .collect()
    }
}

fn seen_system(crop: &Crop) -> SeenSystem {
    SeenSystem {
        left: crop.left,
        scale: crop.scale,
        middle: crop.middle,
        width: u32::try_from(crop.grey.width).unwrap_or(u32::MAX),
    }
}

/// The systems of a page from top to bottom; empty where no staff is found.
fn systems(page: &Grey) -> Vec<Crop> {
    let flat = page.flattened();
    let Some(distance) = line_distance(&flat) else {
        return Vec::new();
    };
    let scale = SPACE / distance;
    let (flat, sized) = if (0.97..1.03).contains(&scale) {
        (flat, page.clone())
    } else {
        (flat.scaled(scale), page.scaled(scale))
    };
    let scale = if (0.97..1.03).contains(&scale) { 1.0 } else { scale };
    staves(&flat)
        .iter()
        .map(|staff| crop::crop(&sized, staff, scale))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_without_staff_has_no_systems() {
        assert!(systems(&Grey::blank(400, 300)).is_empty());
    }
}
