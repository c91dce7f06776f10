//! What do these bytes look like, if not like a piece we read? Enough to tell a musician what she picked by mistake.

use crate::FormatError;

/// The error for bytes that are neither XML nor a compressed score.
pub(crate) fn not_music(bytes: &[u8]) -> FormatError {
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return FormatError::Empty;
    }
    let (looks, advice) = SIGNATURES
        .iter()
        .find(|(start, ..)| bytes.starts_with(start))
        .map_or_else(|| by_text(bytes), |(_, looks, advice)| (*looks, *advice));
    FormatError::NotMusic { looks, advice }
}

const EXPORT: &str = "open it in the program that made it and export MusicXML";
const PICTURE: &str = "ask for the piece as MusicXML, or have its pages read first (`foreread scan`)";
const NO_PAGE: &str = "ask for the piece as MusicXML; pictures of this kind are not read";
const SOUND: &str = "a recording has no bars; ask for the piece as MusicXML";

/// Starts of files that are picked by mistake, with what to do.
const SIGNATURES: &[(&[u8], &str, &str)] = &[
    (b"%PDF", "a PDF", PICTURE),
    (b"\x89PNG", "a picture (PNG)", PICTURE),
    (b"\xff\xd8\xff", "a picture (JPEG)", PICTURE),
    (b"GIF8", "a picture (GIF)", NO_PAGE),
    (b"II*\0", "a picture (TIFF)", PICTURE),
    (b"MM\0*", "a picture (TIFF)", PICTURE),
    (b"ID3", "a recording (MP3)", SOUND),
    (b"RIFF", "a recording (WAV)", SOUND),
    (b"fLaC", "a recording (FLAC)", SOUND),
    (b"OggS", "a recording (Ogg)", SOUND),
    (b"\x1f\x8b", "a gzip archive", "unpack it first"),
    (b"Rar!", "a RAR archive", "unpack it first"),
    (b"7z\xbc\xaf", "a 7z archive", "unpack it first"),
    (b"{\\rtf", "a word processor's document (RTF)", EXPORT),
    (b"\xd0\xcf\x11\xe0", "a word processor's document", EXPORT),
];

fn by_text(bytes: &[u8]) -> (&'static str, &'static str) {
    let head = bytes.get(..bytes.len().min(4096)).unwrap_or_default();
    let lines = || head.split(|b| *b == b'\n').map(<[u8]>::trim_ascii);
    let starts = |what: &[u8]| lines().any(|line| line.starts_with(what));
    if starts(b"X:") && starts(b"K:") {
        // Nothing else keeps a tune with both away from its reader.
        return (
            "a tune in ABC notation with signs in it that no text holds",
            "open it in a text editor, take them out, and save it as plain text",
        );
    }
    if starts(b"X:") && starts(b"T:") {
        return (
            "a tune in ABC notation without its key",
            "write the key in a line of its own before the notes (K:G)",
        );
    }
    if starts(b"**") {
        return (
            "a Humdrum file without **kern spines",
            "choose the file that holds the notes",
        );
    }
    if starts(b"\\version") || starts(b"\\score") || starts(b"\\relative") {
        return ("the source text of an engraving program", EXPORT);
    }
    let odd = head.iter().filter(|b| **b < 9 || (**b > 13 && **b < 32)).count();
    if odd > 0 {
        ("binary data of a kind we don't know", EXPORT)
    } else {
        ("plain text", EXPORT)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_what_was_picked_by_mistake() {
        let looks = |bytes: &[u8]| not_music(bytes).to_string();
        assert!(looks(b"").contains("empty"));
        assert!(looks(b" \r\n ").contains("empty"));
        assert!(looks(b"%PDF-1.7 ...").contains("a PDF"));
        assert!(looks(b"fLaC\0\0\0\x22").contains("a recording"));
        assert!(looks(b"X:1\nT:Reel\nM:C|\nGABc|\n").contains("K:G"));
        assert!(looks(b"**dynam\np\n*-\n").contains("Humdrum"));
        assert!(looks(b"dear diary").contains("plain text"));
        assert!(looks(&[0, 1, 2, 3]).contains("binary data"));
    }
}
