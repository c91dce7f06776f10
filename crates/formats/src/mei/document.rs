//! How is the file laid out? From the root to the measures, streamed; only one measure or header stands in memory.

use super::editorial::is_wrapper;
use super::music::Music;
use crate::FormatError;
use crate::assemble::{MOST_BARS, MOST_CELLS, MOST_EVENTS};
use crate::report::Why;
use crate::xml::{El, Tag, Tree, Trouble, Xml, XmlError};
use notation::{BarIndex, Finding, Piece, Severity};

/// Reads the decoded text of a document: of several movements the one at a position from 0 where one is asked for, else the first
/// that holds music.
pub(super) fn read(text: &str, movement: Option<usize>) -> Result<(Piece, Vec<Finding>), FormatError> {
    if u32::try_from(text.len()).is_err() {
        return Err(FormatError::Unfolds {
            megabytes: text.len() as u64 / 1_000_000,
            limit: 4_000,
        });
    }
    let mut reader = Reader {
        xml: Xml::new(text),
        tree: Tree::with_room(),
        music: Music::new(text),
        open: Vec::new(),
        taken: false,
        left_out: Vec::new(),
        pass_over: movement.unwrap_or(0),
    };
    // An element with an origin takes some 200 bytes of text.
    reader
        .music
        .score
        .piece
        .provenance
        .origins
        .reserve(text.len() / 400);
    let result = reader.document();
    let Reader {
        xml, music, left_out, ..
    } = reader;
    if let Err(error) = result {
        return Err(explain(&xml, error, &music));
    }
    // Who asked for a movement knows of the others.
    finish(music, if movement.is_some() { &[] } else { &left_out })
}

fn explain(xml: &Xml<'_>, error: XmlError, music: &Music<'_>) -> FormatError {
    let (line, column) = xml.line_column(error.at);
    let place = match music.bars {
        0 => "the heading, before the first bar".to_owned(),
        _ => format!("or after bar {}", music.score.piece.label(music.bar)),
    };
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

fn finish(mut music: Music<'_>, left_out: &[String]) -> Result<(Piece, Vec<Finding>), FormatError> {
    if music.score.piece.bars.is_empty() {
        return Err(FormatError::NoBars {
            what: "it has no measures",
        });
    }
    if music.parts.is_empty() {
        return Err(FormatError::NoBars {
            what: "its measures hold no staves",
        });
    }
    if !left_out.is_empty() {
        let what = format!(
            "the file holds further movements or pieces ({}); the first was taken",
            left_out.join(", ")
        );
        music.score.report.push(Finding::new(
            Severity::Caution,
            "several-movements",
            what,
            "ask for another with --tune and its place (2 for the second), or save it in a file of its own",
        ));
    }
    music.finish_tuplet_spans();
    music.finish_slurs();
    music.resolve_controls();
    music.finish_own();
    music.check_ties();
    music.settle_order();
    music.report_incomplete_voices();
    if music.applied {
        music.score.report.push(Finding::new(
            Severity::Caution,
            "accidentals-from-page",
            "the file does not say how notes without an accidental sound; key signature and accidentals of the bar were applied",
            "check notes that the key alters",
        ));
    }
    let mut score = music.score;
    for mut state in music.parts {
        state
            .part
            .spans
            .sort_by_key(|span| span.start.or(span.end).map(|anchor| anchor.place));
        if state.part.voices.is_empty() {
            state.part.voices.push("1".to_owned());
        }
        let used = state
            .part
            .events
            .iter()
            .flat_map(notation::Event::heads)
            .map(|head| head.staff)
            .max();
        state.part.staves = state.part.staves.max(used.unwrap_or(1));
        score.piece.barlines.append(&mut state.lines);
        score.facts.push(state.facts);
        score.piece.parts.push(state.part);
    }
    score.settle();
    Ok((score.piece, score.report.finish()))
}

struct Reader<'a> {
    xml: Xml<'a>,
    tree: Tree<'a>,
    music: Music<'a>,
    /// Names of the open elements outside of measures.
    open: Vec<&'a str>,
    /// A score was read to its end.
    taken: bool,
    /// Movements and pieces that were not read.
    left_out: Vec<String>,
    /// Movements yet to be passed over before the one that is read.
    pass_over: usize,
}

/// The movements of a document as they follow each other, those inside of another left out: what each is called, and its range in
/// the text. Stops where the text is no XML.
pub(super) fn movements(text: &str) -> Vec<(String, (usize, usize))> {
    let mut found = Vec::new();
    // Most files hold one: then the text is not gone through twice.
    if text.matches("mdiv").take(3).count() < 3 {
        return found;
    }
    let mut xml = Xml::new(text);
    let mut tree = Tree::with_room();
    while found.len() < MOST_MOVEMENTS
        && let Ok(Tag::Open { name, empty }) = next_open(&mut xml, &mut tree)
    {
        let from = xml.position();
        match name {
            "mdiv" => {
                let root = tree.root();
                let label = root.attr("label").or(root.attr("n")).unwrap_or_default();
                let label = super::values::short(label);
                if !empty && xml.skip().is_err() {
                    break;
                }
                found.push((label, (from, xml.position())));
            }
            "mei" | "meiCorpus" | "music" | "group" | "body" => {}
            _ if !empty && xml.skip().is_err() => break,
            _ => {}
        }
    }
    found
}

/// More movements are not listed.
const MOST_MOVEMENTS: usize = 2_000;

/// The next element that begins, whatever ends before it.
fn next_open<'a>(xml: &mut Xml<'a>, tree: &mut Tree<'a>) -> Result<Tag<'a>, XmlError> {
    loop {
        match xml.next_tag(tree)? {
            Tag::Close => {}
            tag => return Ok(tag),
        }
    }
}

impl<'a> Reader<'a> {
    fn document(&mut self) -> Result<(), XmlError> {
        let mut first = true;
        loop {
            match self.xml.next_tag(&mut self.tree)? {
                Tag::Open { name, empty } => {
                    let root = std::mem::take(&mut first);
                    self.opened(name, empty)?;
                    if root && empty {
                        return Ok(());
                    }
                }
                Tag::Close => self.closed(),
                Tag::End => return Ok(()),
            }
        }
    }

    fn opened(&mut self, name: &'a str, empty: bool) -> Result<(), XmlError> {
        let root = self.tree.root();
        match name {
            "mdiv" if self.pass_over > 0 && !self.open.contains(&"mdiv") => {
                self.pass_over -= 1;
                self.pass(empty)
            }
            "mdiv" | "mei" | "score" | "parts" if self.taken => {
                if matches!(name, "mdiv" | "mei") && self.left_out.len() < 50 {
                    let label = root.attr("label").or(root.attr("n")).unwrap_or("without a name");
                    self.left_out.push(super::values::short(label));
                } else {
                    self.music.unread(name, "mdiv", Why::NoPlace);
                }
                self.pass(empty)
            }
            "mdiv" if self.music.score.piece.credits.movement.is_none() => {
                let label = root.attr("label").filter(|label| !label.is_empty());
                self.music.score.piece.credits.movement = label.map(super::values::short);
                self.enter(name, empty);
                Ok(())
            }
            "mei" | "meiCorpus" | "music" | "group" | "body" | "mdiv" | "score" | "parts" | "section"
            | "ending" => {
                self.enter(name, empty);
                Ok(())
            }
            "part" => {
                // Each part starts again at the first bar.
                self.music.restart();
                self.enter(name, empty);
                Ok(())
            }
            // Only with several readings to choose from is the whole of it needed at once.
            name if is_wrapper(name) => {
                self.enter(name, empty);
                Ok(())
            }
            // Pictures, other ways of writing, and what stands around the music.
            "facsimile" | "performance" | "standOff" | "genDesc" | "extMeta" | "sourceDoc" => {
                self.pass(empty)
            }
            "front" | "back" => {
                self.music.unread(name, "music", Why::NoPlace);
                self.pass(empty)
            }
            _ => {
                if !empty {
                    self.xml.fill(&mut self.tree)?;
                }
                self.check_size()?;
                self.music.section_child(self.tree.root());
                Ok(())
            }
        }
    }

    fn pass(&mut self, empty: bool) -> Result<(), XmlError> {
        if empty { Ok(()) } else { self.xml.skip() }
    }

    fn enter(&mut self, name: &'a str, empty: bool) {
        self.music.enter(self.tree.root());
        self.open.push(name);
        if empty {
            self.closed();
        }
    }

    fn closed(&mut self) {
        let Some(name) = self.open.pop() else { return };
        self.music.leave(name == "ending");
        self.taken |= matches!(name, "score" | "parts") && self.music.bars > 0;
    }

    fn check_size(&self) -> Result<(), XmlError> {
        let music = &self.music;
        let cells = music.parts.len().saturating_mul(music.bars);
        if music.bars >= MOST_BARS
            || music.score.taken > MOST_EVENTS
            || cells > MOST_CELLS
            || self.open.len() > 100
        {
            return Err(XmlError {
                at: self.xml.position(),
                what: Trouble::TooMuch("more bars, parts or notes".to_owned()),
            });
        }
        Ok(())
    }
}

impl<'a> Music<'a> {
    /// One element of a section that is not a section itself, or a whole section that stands among several readings.
    pub(super) fn section_child(&mut self, el: El<'_, 'a>) {
        match el.name() {
            "measure" => {
                if self.bars < MOST_BARS && self.score.taken <= MOST_EVENTS {
                    self.measure(el);
                }
            }
            "meiHead" => self.head_of_file(el),
            "scoreDef" => self.score_def(el),
            "staffDef" => self.staff_def(el),
            "sb" => self.new_system = true,
            "pb" => {
                self.new_page = true;
                self.new_system |= self.own.is_some() && super::own::has(el, "system");
            }
            "expansion" => self.expansion(el),
            "section" | "ending" => {
                self.enter(el);
                for child in self.content(el) {
                    self.section_child(child);
                }
                self.leave(el.name() == "ending");
            }
            "app" | "choice" | "subst" | "del" => {
                let mut found = Vec::new();
                self.resolve(el, &mut found);
                for child in found {
                    self.section_child(child);
                }
            }
            "staff" => self.unread("staff", "section", Why::Unknown),
            "annot" | "div" | "cb" | "gap" | "relatedItem" | "titlePage" | "figure" | "symbolTable"
            | "instrDef" => {
                self.unread(el.name(), "section", Why::NoPlace);
            }
            other => self.unread(other, "section", Why::Unknown),
        }
    }

    /// Goes back to the first bar for the next part, in a file that goes part by part.
    fn restart(&mut self) {
        self.bars = 0;
        self.bar = BarIndex(0);
        self.active_from = self.parts.len();
        self.staff_numbers.clear();
        self.pending.clear();
        (self.number, self.unnumbered, self.first_unnumbered) = (0, 0, None);
        self.new_system = false;
        self.new_page = false;
    }

    /// Layers beside others often leave out the rests that would fill their bars: said once for each.
    fn report_incomplete_voices(&mut self) {
        for state in &self.parts {
            for (voice, name) in state.voices.iter().zip(&state.part.voices) {
                let Some(bar) = voice.first_incomplete else {
                    continue;
                };
                let times = if voice.incomplete == 1 {
                    String::new()
                } else {
                    format!(" in {} bars, first", voice.incomplete)
                };
                let finding = Finding::new(
                    Severity::Note,
                    "voice-incomplete",
                    format!("voice {name} does not fill its bar{times} here, while another voice does"),
                    "",
                );
                let label = self.score.piece.label(bar).to_owned();
                self.score
                    .report
                    .push(finding.in_part(state.name.clone()).at_bar(bar, label));
            }
        }
    }
}
