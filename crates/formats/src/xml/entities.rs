//! What does `&name;` stand for? The five of XML, numbers, and short ones that the file defines for itself.
//!
//! Entities that hold other entities or markup are never unfolded, external ones never fetched: that is what bombs
//! are made of, and no score needs them.

/// The most text that a file's own entities may add.
const MOST_ADDED: usize = 64 * 1024;
/// The most entities kept of a file's own.
const MOST_DEFINED: usize = 500;

/// The entities that a file's document type defines.
#[derive(Debug, Default)]
pub(crate) struct Entities {
    defined: Vec<(String, Option<String>)>,
    added: usize,
}

/// Why an entity can't be unfolded.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum EntityError {
    /// Nobody says what it stands for.
    Unknown,
    /// It holds others, or too much.
    Bomb,
}

impl Entities {
    /// Takes the definitions from the inside of `<!DOCTYPE …>`.
    pub(crate) fn define(&mut self, doctype: &str) {
        for rest in doctype.split("<!ENTITY").skip(1) {
            if self.defined.len() >= MOST_DEFINED {
                return;
            }
            let mut rest = rest.trim_start();
            if rest.starts_with('%') {
                continue;
            }
            let end = rest.find(char::is_whitespace).unwrap_or(rest.len());
            let (name, value) = rest.split_at(end);
            rest = value.trim_start();
            let quote = rest.chars().next().filter(|c| matches!(c, '"' | '\''));
            let text = quote.and_then(|quote| rest.get(1..)?.split(quote).next());
            // Nested or external: known, never unfolded.
            let plain = text.filter(|text| !text.contains(['&', '%', '<']));
            self.defined.push((name.to_owned(), plain.map(str::to_owned)));
        }
    }

    /// What a reference stands for (the name between `&` and `;`).
    pub(crate) fn unfold(&mut self, name: &str, into: &mut String) -> Result<(), EntityError> {
        if let Some(number) = name.strip_prefix('#') {
            let code = match number.strip_prefix(['x', 'X']) {
                Some(hex) => u32::from_str_radix(hex, 16),
                None => number.parse(),
            };
            let c = code.ok().and_then(char::from_u32).ok_or(EntityError::Unknown)?;
            into.push(c);
            return Ok(());
        }
        let plain = match name {
            "amp" => "&",
            "lt" => "<",
            "gt" => ">",
            "quot" => "\"",
            "apos" => "'",
            _ => return self.own(name, into),
        };
        into.push_str(plain);
        Ok(())
    }

    fn own(&mut self, name: &str, into: &mut String) -> Result<(), EntityError> {
        let (_, value) = self
            .defined
            .iter()
            .find(|(n, _)| n == name)
            .ok_or(EntityError::Unknown)?;
        let value = value.as_ref().ok_or(EntityError::Bomb)?;
        self.added += value.len() + 8;
        if self.added > MOST_ADDED {
            return Err(EntityError::Bomb);
        }
        into.push_str(value);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_entities_unfold_and_bombs_do_not() {
        let mut entities = Entities::default();
        entities.define(
            "score [<!ENTITY who \"Ana\"><!ENTITY lol '&who;&who;'><!ENTITY far SYSTEM \"file:///etc/x\">]",
        );
        let mut text = String::new();
        assert_eq!(entities.unfold("who", &mut text), Ok(()));
        assert_eq!(entities.unfold("#233", &mut text), Ok(()));
        assert_eq!(entities.unfold("#x266D", &mut text), Ok(()));
        assert_eq!(entities.unfold("amp", &mut text), Ok(()));
        assert_eq!(text, "Anaé♭&");
        assert_eq!(entities.unfold("lol", &mut text), Err(EntityError::Bomb));
        assert_eq!(entities.unfold("far", &mut text), Err(EntityError::Bomb));
        assert_eq!(entities.unfold("nobody", &mut text), Err(EntityError::Unknown));
        let long = (0..MOST_ADDED).try_for_each(|_| entities.unfold("who", &mut text));
        assert_eq!(long, Err(EntityError::Bomb));
    }
}
