//! How does something on the screen point at its bars? By their indices, which the page's script knows the places of.

use maud::{Markup, html};
use notation::{BarIndex, Piece};

/// Bars by their printed labels, looked up once.
pub(crate) struct Labels<'a> {
    piece: &'a Piece,
}

impl<'a> Labels<'a> {
    /// Those of all bars, for the script: one to a line.
    pub fn said(&self) -> String {
        let all = (0..self.piece.bars.len()).map(|bar| self.label(BarIndex::from_usize(bar)));
        all.collect::<Vec<_>>().join("\n")
    }

    /// Of a piece.
    pub fn of(piece: &'a Piece) -> Self {
        Self { piece }
    }

    /// A bar's label; a bar printed without one is said by its place.
    pub fn label(&self, bar: BarIndex) -> String {
        match self.piece.label(bar).trim() {
            "" => format!("({} from the start)", bar.0.saturating_add(1)),
            label => label.to_owned(),
        }
    }

    /// `Bar 4`, `Bars 4–7`.
    pub fn run(&self, from: BarIndex, to: BarIndex) -> String {
        if from == to {
            format!("Bar {}", self.label(from))
        } else {
            format!("Bars {}–{}", self.label(from), self.label(to))
        }
    }

    /// The bars that a sheet names: labels, and runs of them (`4–7`); what is only counted (`and 3 more`) has no place.
    pub fn find(&self, said: &[String]) -> Vec<BarIndex> {
        let mut bars = Vec::new();
        for run in said.iter().flat_map(|run| run.split(", ")) {
            if let Some(bar) = self.one(run) {
                bars.push(bar);
            } else if let Some((from, to)) = run.split_once('–')
                && let (Some(from), Some(to)) = (self.one(from), self.one(to))
            {
                bars.extend((from.0..=to.0.max(from.0)).map(BarIndex));
            }
        }
        bars
    }

    fn one(&self, label: &str) -> Option<BarIndex> {
        let label = label.trim();
        (0..self.piece.bars.len())
            .map(BarIndex::from_usize)
            .find(|bar| self.piece.label(*bar).trim() == label)
    }
}

/// Indices for the script: `3 4 5`.
pub(crate) fn indices(bars: &[BarIndex]) -> String {
    let all: Vec<String> = bars.iter().map(|bar| bar.0.to_string()).collect();
    all.join(" ")
}

/// Words that show their bars when touched; without bars, words alone.
pub(crate) fn pointing(words: &str, bars: &[BarIndex]) -> Markup {
    html! {
        @if bars.is_empty() {
            span class="bars" { (words) }
        } @else {
            button type="button" class="point" data-bars=(indices(bars)) { (words) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Labels;
    use notation::{BarIndex, sketch};

    #[test]
    fn runs_of_labels_are_bars() {
        let piece = sketch("C5/w | D5/w | E5/w | F5/w |").unwrap();
        let labels = Labels::of(&piece);
        let said: Vec<String> = ["2", "3–4", "1, 2", "and 3 more"].map(str::to_owned).to_vec();
        let found: Vec<u32> = labels.find(&said).into_iter().map(|bar| bar.0).collect();
        assert_eq!(found, [1, 2, 3, 0, 1]);
        assert_eq!(labels.run(BarIndex(0), BarIndex(2)), "Bars 1–3");
        assert_eq!(labels.run(BarIndex(1), BarIndex(1)), "Bar 2");
    }
}
