//! Which signs of a text are none to be read, but steer whoever shows it: a terminal's screen, the direction of a line?

/// Whether a sign is never printed and would steer: control signs other than white space, and signs that embed, override or isolate a
/// direction of writing. Letters of Hebrew or Arabic are written from right to left without them.
/// Source: Unicode 15.1, chapter 23.1 (control codes) and annex 9, section 2 (directional formatting characters).
#[must_use]
pub fn steers(sign: char) -> bool {
    match sign {
        '\t' | '\n' | '\r' => false,
        '\u{200e}'
        | '\u{200f}'
        | '\u{061c}'
        | '\u{202a}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}'
        | '\u{feff}' => true,
        sign => sign.is_control(),
    }
}

#[cfg(test)]
mod tests {
    use super::steers;

    #[test]
    fn what_is_read_stays_and_what_steers_does_not() {
        let read = |text: &str| text.chars().filter(|sign| !steers(*sign)).collect::<String>();
        assert_eq!(read("\u{1b}[2JAir\u{9b}31m\u{0}\u{7f}"), "[2JAir31m");
        assert_eq!(read("\u{202e}שלום\u{2069}"), "שלום");
        for kept in ["a\tb\nc", "B♭ – “Été”", "月の光", "e\u{301}", "👩\u{200d}🎤"] {
            assert_eq!(read(kept), kept);
        }
    }
}
