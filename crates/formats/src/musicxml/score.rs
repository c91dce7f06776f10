//! How is the score laid out in the file? Part by part or bar by bar; both come out the same.

use super::bars;
use super::header::{Header, PartInfo};
use super::part::PartReader;
use crate::FormatError;
use crate::assemble::{MOST_BARS, MOST_CELLS, MOST_EVENTS, MOST_PARTS, Score};
use crate::report::{Here, Why};
use crate::xml::{Tag, Tree, Trouble, Xml, XmlError};
use notation::{Finding, Piece};
use std::collections::BTreeMap;

/// So much room is made for a part's events before they are read, and no more is guessed. Our choice: long quartet parts have
/// some 4,000.
const MOST_LIKELY: usize = 8_192;

/// Reads the decoded text of a score.
pub(super) fn read(text: &str) -> Result<(Piece, Vec<Finding>), FormatError> {
    if u32::try_from(text.len()).is_err() {
        return Err(FormatError::Unfolds {
            megabytes: text.len() as u64 / 1_000_000,
            limit: 4_000,
        });
    }
    let mut reader = Reader {
        xml: Xml::new(text),
        tree: Tree::with_room(),
        score: Score::default(),
        header: Header::default(),
        place: Where::default(),
    };
    // An element with an origin takes some 200 to 400 bytes of text.
    reader.score.piece.provenance.origins.reserve(text.len() / 200);
    let result = reader.document();
    let Reader {
        xml,
        mut score,
        header,
        place,
        ..
    } = reader;
    match result {
        Ok(()) => {}
        Err(Stop::Xml(error)) => return Err(explain(&xml, error, &place)),
        Err(Stop::Format(error)) => return Err(error),
    }
    if score.piece.parts.is_empty() {
        return Err(FormatError::NoBars {
            what: "it has no part with music",
        });
    }
    if score.piece.bars.is_empty() {
        return Err(FormatError::NoBars {
            what: "its parts are empty",
        });
    }
    header.unplayed(&mut score);
    score.settle();
    Ok((score.piece, score.report.finish()))
}

/// Why reading stops.
enum Stop {
    Xml(XmlError),
    Format(FormatError),
}

impl From<XmlError> for Stop {
    fn from(error: XmlError) -> Self {
        Self::Xml(error)
    }
}

/// How far reading has come, for messages.
#[derive(Debug, Default)]
struct Where {
    part: Option<String>,
    bar: Option<String>,
}

impl Where {
    fn say(&self) -> String {
        match (&self.bar, &self.part) {
            (Some(bar), Some(part)) => format!("bar {bar} of {part}"),
            (Some(bar), None) => format!("bar {bar}"),
            (None, Some(part)) => format!("{part}, before its first bar"),
            (None, None) => "the heading, before the first bar".to_owned(),
        }
    }
}

fn explain(xml: &Xml<'_>, error: XmlError, place: &Where) -> FormatError {
    let (line, column) = xml.line_column(error.at);
    let place = place.say();
    match error.what {
        Trouble::Ends => FormatError::Truncated { place, line },
        Trouble::Broken(what) => FormatError::Broken {
            line,
            column,
            place,
            what,
        },
        Trouble::Bomb(what) => FormatError::Entities { line, what },
        Trouble::TooMuch(what) => FormatError::TooMuch { line, place, what },
    }
}

struct Reader<'a> {
    xml: Xml<'a>,
    tree: Tree<'a>,
    score: Score,
    header: Header,
    place: Where,
}

impl<'a> Reader<'a> {
    fn document(&mut self) -> Result<(), Stop> {
        let root = loop {
            match self.xml.next_tag(&mut self.tree)? {
                Tag::Open { name, empty } => break (name, empty),
                Tag::Close => {}
                Tag::End => return Err(Stop::Format(FormatError::Empty)),
            }
        };
        let timewise = match root.0 {
            "score-partwise" => false,
            "score-timewise" => true,
            other => return Err(Stop::Format(other_xml(other))),
        };
        if root.1 {
            return Err(Stop::Format(FormatError::NoBars {
                what: "it has no part with music",
            }));
        }
        let mut measures = Vec::new();
        loop {
            match self.xml.next_tag(&mut self.tree)? {
                Tag::Open { name: "part", empty } if !timewise => self.part(empty)?,
                Tag::Open {
                    name: "measure",
                    empty,
                } if timewise => self.timewise_measure(empty, &mut measures)?,
                Tag::Open { empty, .. } => {
                    if !empty {
                        self.xml.fill(&mut self.tree)?;
                    }
                    self.header.element(self.tree.root(), &mut self.score);
                }
                Tag::Close => break,
                Tag::End => return Err(Stop::Xml(self.ends())),
            }
        }
        while self.xml.next_tag(&mut self.tree)? != Tag::End {}
        if timewise {
            self.timewise_parts(&measures)?;
        }
        Ok(())
    }

    fn ends(&self) -> XmlError {
        XmlError {
            at: self.xml.position(),
            what: Trouble::Ends,
        }
    }

    fn too_much(&self, what: &str) -> Stop {
        Stop::Xml(XmlError {
            at: self.xml.position(),
            what: Trouble::TooMuch(what.to_owned()),
        })
    }

    /// A part of a partwise score, whose tag was just read.
    fn part(&mut self, empty: bool) -> Result<(), Stop> {
        let info = self.begin_part(self.tree.root().attr("id").unwrap_or_default().to_owned())?;
        // A note takes 200 to 500 bytes of text, and parts are about as long as each other.
        let events = self.xml.left() / self.header.to_come() / 200;
        let mut part = PartReader::new(&mut self.score, info);
        part.part.events.reserve(events.min(MOST_LIKELY));
        let mut index = 0;
        loop {
            if empty {
                break;
            }
            match self.xml.next_tag(&mut self.tree)? {
                Tag::Open {
                    name: "measure",
                    empty,
                } => {
                    self.place.bar = Some(bars::label(self.tree.root(), index));
                    if !empty {
                        self.xml.fill(&mut self.tree)?;
                    }
                    if index >= MOST_BARS || part.score.taken > MOST_EVENTS {
                        drop(part);
                        return Err(self.too_much("more bars or notes"));
                    }
                    let root = self.tree.root();
                    part.measure(index, root, root);
                    part.check_attributes(&self.tree);
                    index += 1;
                }
                Tag::Open { name, empty } => {
                    let (name, here) = (name.to_owned(), part.here());
                    part.score.report.unread(&name, "part", Why::Unknown, || here);
                    if !empty {
                        self.xml.skip()?;
                    }
                }
                Tag::Close => break,
                Tag::End => return Err(Stop::Xml(self.ends())),
            }
        }
        part.finish();
        self.place = Where::default();
        Ok(())
    }

    fn begin_part(&mut self, id: String) -> Result<PartInfo, Stop> {
        let parts = self.score.piece.parts.len();
        if parts >= MOST_PARTS || (parts + 1) * self.score.piece.bars.len() > MOST_CELLS {
            return Err(self.too_much("more parts"));
        }
        let info = self.header.take_part(&id, &mut self.score);
        self.place = Where {
            part: Some(info.shown_name.clone()),
            bar: None,
        };
        Ok(info)
    }

    /// Notes where the measure and its parts stand; they are read part by part afterwards.
    fn timewise_measure(&mut self, empty: bool, measures: &mut Vec<Measure>) -> Result<(), Stop> {
        if measures.len() >= MOST_BARS {
            return Err(self.too_much("more bars"));
        }
        let mut measure = Measure {
            at: self.tree.root().range().0 as usize,
            parts: Vec::new(),
        };
        self.place.bar = Some(bars::label(self.tree.root(), measures.len()));
        loop {
            if empty {
                break;
            }
            match self.xml.next_tag(&mut self.tree)? {
                Tag::Open { name, empty } => {
                    let root = self.tree.root();
                    if name == "part" {
                        let id = root.attr("id").unwrap_or_default().to_owned();
                        measure.parts.push((id, root.range().0 as usize));
                    } else {
                        self.score
                            .report
                            .unread(name, "measure", Why::Unknown, Here::default);
                    }
                    if !empty {
                        self.xml.skip()?;
                    }
                }
                Tag::Close => break,
                Tag::End => return Err(Stop::Xml(self.ends())),
            }
        }
        measures.push(measure);
        Ok(())
    }

    fn timewise_parts(&mut self, measures: &[Measure]) -> Result<(), Stop> {
        // In order of first appearance, each with the measures in which it stands.
        let mut order: Vec<(&str, Vec<(usize, usize)>)> = Vec::new();
        let mut known: BTreeMap<&str, usize> = BTreeMap::new();
        for (index, measure) in measures.iter().enumerate() {
            for (id, at) in &measure.parts {
                let part = *known.entry(id).or_insert(order.len());
                if part == order.len() {
                    if part >= MOST_PARTS {
                        return Err(self.too_much("more parts"));
                    }
                    order.push((id, Vec::new()));
                }
                if let Some((_, bars)) = order.get_mut(part) {
                    bars.push((index, *at));
                }
            }
        }
        let mut outer = Tree::default();
        for (id, bars) in order {
            let info = self.begin_part(id.to_owned())?;
            let mut part = PartReader::new(&mut self.score, info);
            for (index, at) in bars {
                let Some(measure) = measures.get(index) else {
                    continue;
                };
                self.xml.go_to(measure.at);
                self.xml.next_tag(&mut outer)?;
                self.place.bar = Some(bars::label(outer.root(), index));
                self.xml.go_to(at);
                if let Tag::Open { empty: false, .. } = self.xml.next_tag(&mut self.tree)? {
                    self.xml.fill(&mut self.tree)?;
                }
                part.measure(index, outer.root(), self.tree.root());
                part.check_attributes(&outer);
                part.check_attributes(&self.tree);
                if part.score.taken > MOST_EVENTS {
                    drop(part);
                    return Err(self.too_much("more notes"));
                }
            }
            part.finish();
        }
        Ok(())
    }
}

/// Where a timewise measure and its parts stand in the text.
struct Measure {
    at: usize,
    parts: Vec<(String, usize)>,
}

fn other_xml(root: &str) -> FormatError {
    let advice = match root {
        "meiHead" => "it is the heading of an MEI file without its music; choose the whole file",
        "opus" => "it lists several scores (an opus); choose one of the scores it names",
        "container" => "it lists what is in a compressed score; choose the score itself",
        "svg" => "it is a picture; ask for the piece as MusicXML",
        "html" => "it is a web page, perhaps an error page from a download; download the piece again",
        _ => "choose the MusicXML export of the piece",
    };
    FormatError::OtherXml {
        root: root.chars().take(60).collect(),
        advice,
    }
}
