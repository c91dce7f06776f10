//! What stands on the sheet? Sections with an answer and rows, before anybody decides how they look.

/// The whole sheet in reading order.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Sheet {
    /// The piece's name.
    pub title: String,
    /// Part, instrument, length: the line under the title, item by item.
    pub facts: Vec<String>,
    /// Where to look first: what is most likely to go wrong.
    pub look_first: Option<Section>,
    /// What it is for this player: spots, tempo, bar by bar, what returns, breaths, fingers, levels.
    pub study: Vec<Section>,
    /// The answers, in the order of the questions.
    pub sections: Vec<Section>,
    /// What the reader of the file found wrong or guessed.
    pub reading: Option<Section>,
    /// One cell for each bar, for the map of the piece.
    pub bars: Vec<BarCell>,
    /// Cautions and the small print at the foot.
    pub foot: Vec<String>,
}

/// One question's answer.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Section {
    /// The question's name in JSON and on the command line (`key`, `road_map`).
    pub id: &'static str,
    /// The question as a heading: Key, Range …
    pub name: String,
    /// The answer in one line.
    pub answer: String,
    /// What stands behind it and what it means.
    pub rows: Vec<Row>,
}

/// One row of a section.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Row {
    /// A statement with a label before it and the bars it can be checked in.
    Line {
        /// What kind of statement: `proof`, `where`, `for you`; may be empty to go on with the one above.
        label: String,
        /// The statement.
        text: String,
        /// Labels of the bars to look at.
        bars: Vec<String>,
    },
    /// A small table.
    Table {
        /// What it lists.
        label: String,
        /// Column headings.
        head: Vec<String>,
        /// Its rows, as wide as the heading.
        rows: Vec<Vec<String>>,
    },
    /// A table that is opened on demand on a page, and left out where nothing can be opened.
    Details {
        /// What it holds, to click on.
        summary: String,
        /// Column headings.
        head: Vec<String>,
        /// Its rows, as wide as the heading.
        rows: Vec<Vec<String>>,
    },
    /// A bracket of bars to practise.
    Spot {
        /// Its rank, from 1.
        rank: usize,
        /// The bars, and the downbeat that it goes into: `bars 12–14`, `into the downbeat of bar 15`.
        bars: (String, String),
        /// Why, the strongest first.
        reasons: Vec<String>,
        /// What to do about it.
        doing: String,
        /// Where it comes again; may be empty.
        also: String,
    },
    /// What the map of the bars shows already: only where there is no map.
    InWords(Vec<Row>),
    /// Tempi to tick off.
    Rungs(Vec<Tick>),
    /// A note with its fingering, and pictures of it beside the usual one.
    Pictured {
        /// The note: `F♯5`.
        note: String,
        /// The fingering in words, why, and how sure it is.
        text: String,
        /// Labels of the bars.
        bars: Vec<String>,
        /// The pictures, left to right.
        pictures: Vec<Picture>,
    },
}

/// One tempo to tick off.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Tick {
    /// The tempo: `♩ = 56`.
    pub tempo: String,
    /// What to set the metronome to, where that is another note: `click ♪ = 112`.
    pub click: String,
    /// Fewest and most times.
    pub times: (u8, u8),
}

/// A drawing that stands on a page.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Picture {
    /// What stands under it.
    pub caption: String,
    /// The drawing as SVG, made by us; it carries its own title in words.
    pub svg: String,
}

/// One bar of the map.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct BarCell {
    /// The printed label.
    pub label: String,
    /// A repeat starts here.
    pub repeat_start: bool,
    /// A repeat ends here.
    pub repeat_end: bool,
    /// A double bar or the end after it.
    pub double_bar: bool,
    /// What is pencilled over it: volta, segno, rehearsal letter, key.
    pub above: Vec<String>,
    /// The rank among the places to look first, from 1.
    pub look_first: Option<u8>,
    /// Notes that the signature does not give, how many.
    pub altered: usize,
    /// How much there is to read for this player, from 1 (little) to 4 (very much); 0 if not asked.
    pub to_read: u8,
    /// How much there is for the hands at tempo, likewise.
    pub hands: u8,
    /// Both in words; empty if not asked.
    pub asks: String,
    /// A new system starts with this bar on the printed page.
    pub new_system: bool,
}

impl Section {
    /// An answer without rows yet.
    #[must_use]
    pub fn new(id: &'static str, name: &str, answer: impl Into<String>) -> Self {
        Self {
            id,
            name: name.to_owned(),
            answer: answer.into(),
            rows: Vec::new(),
        }
    }

    /// Adds a statement.
    pub fn line(&mut self, label: &str, text: impl Into<String>, bars: Vec<String>) {
        self.rows.push(Row::Line {
            label: label.to_owned(),
            text: text.into(),
            bars,
        });
    }

    /// Adds what it means for the player, if there is anything to say.
    pub fn means(&mut self, text: &str) {
        if !text.is_empty() {
            self.line("for you", text, Vec::new());
        }
    }

    /// Adds a table unless it would be empty.
    pub fn table(&mut self, label: &str, head: &[&str], rows: Vec<Vec<String>>) {
        if !rows.is_empty() {
            let head = head.iter().map(|cell| (*cell).to_owned()).collect();
            self.rows.push(Row::Table {
                label: label.to_owned(),
                head,
                rows,
            });
        }
    }
}
