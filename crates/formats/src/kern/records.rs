//! Which records does the text hold? Line by line: comments, interpretations, bar lines, data.
//!
//! Source: Humdrum user's guide, chapter 5 (Humdrum syntax).

/// What a line is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    /// `!!!KEY: text`.
    Reference,
    /// `!! text`.
    Global,
    /// `! text` in one column or more.
    Local,
    /// `*…`, tandem interpretations and spine paths.
    Interpretation,
    /// `**…`, what the columns hold.
    Exclusive,
    /// `=…`.
    Bar,
    /// Everything else.
    Data,
}

/// One line that is not empty.
#[derive(Clone, Copy, Debug)]
pub(super) struct Record<'a> {
    /// Its number in the text, from 1.
    pub line: usize,
    /// The byte where it starts.
    pub at: usize,
    /// Without its line end.
    pub text: &'a str,
    pub kind: Kind,
}

impl<'a> Record<'a> {
    /// Its columns, with the byte where each starts.
    pub(super) fn tokens(&self) -> impl Iterator<Item = (usize, &'a str)> + use<'a> {
        let mut at = self.at;
        self.text.split('\t').map(move |token| {
            let here = at;
            at += token.len() + 1;
            (here, token)
        })
    }
}

/// The records of a text. Line ends of every system are understood.
pub(super) fn records(text: &str) -> impl Iterator<Item = Record<'_>> {
    let mut at = 0;
    let mut line = 0;
    std::iter::from_fn(move || {
        loop {
            let rest = text.get(at..).filter(|rest| !rest.is_empty())?;
            let end = rest.find(['\n', '\r']).unwrap_or(rest.len());
            let start = at;
            let content = &rest[..end];
            at += end + if rest[end..].starts_with("\r\n") { 2 } else { 1 };
            line += 1;
            if content.trim().is_empty() {
                continue;
            }
            let kind = kind(content);
            let text = if matches!(kind, Kind::Reference | Kind::Global) {
                content.trim_end()
            } else {
                content.trim_end_matches(['\t', ' '])
            };
            return Some(Record {
                line,
                at: start,
                text,
                kind,
            });
        }
    })
}

fn kind(line: &str) -> Kind {
    // The first column tells, unless it is empty by mistake.
    let first = line.trim_start_matches(['\t', ' ']);
    if first.starts_with("!!!") && !first.starts_with("!!!!") {
        Kind::Reference
    } else if first.starts_with("!!") {
        Kind::Global
    } else if first.starts_with('!') {
        Kind::Local
    } else if first.starts_with('*') {
        if line.split('\t').any(|token| token.starts_with("**")) {
            Kind::Exclusive
        } else {
            Kind::Interpretation
        }
    } else if first.starts_with('=') || first.starts_with('.') && line.contains("\t=") {
        Kind::Bar
    } else {
        Kind::Data
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_of_every_system_and_what_they_are() {
        let text = "!!!OTL: Air\r\n!! x\r\r**kern\t**text\n*\t*\n! a\t!\n=1\t=1\n4c\tla\n\n*-\t*-";
        let all: Vec<(usize, Kind)> = records(text).map(|r| (r.line, r.kind)).collect();
        use Kind::{Bar, Data, Exclusive, Global, Interpretation, Local, Reference};
        assert_eq!(
            all,
            [
                (1, Reference),
                (2, Global),
                (4, Exclusive),
                (5, Interpretation),
                (6, Local),
                (7, Bar),
                (8, Data),
                (10, Interpretation)
            ]
        );
        let tokens: Vec<(usize, &str)> = records(text).nth(2).expect("spines").tokens().collect();
        assert_eq!(tokens, [(19, "**kern"), (26, "**text")]);
        assert!(text[26..].starts_with("**text"));
    }
}
