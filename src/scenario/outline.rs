//! The outline of a RON text: which field stands where. The parser tells lines only for what it refuses itself; the outline
//! finds the line of a value that was read well and is not allowed, and the field at a place that the parser names.
//!
//! It reads tokens only, keeps its own stack (a text cannot overflow ours) and never fails: of a broken text it outlines
//! what it can.

/// Deeper than this no parameter lies; fields further down are not outlined.
const DEEPEST: usize = 10;

/// One field of the text. It keeps places and no text of its own: a name may be as long as the file, and stand around as many
/// fields.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Field {
    /// The field that it lies in, as an index.
    outer: Option<usize>,
    /// Bytes of its name.
    name: std::ops::Range<usize>,
    /// Bytes of its value, from the first token to the last.
    value: std::ops::Range<usize>,
}

impl Field {
    /// Byte at which its name begins.
    pub(crate) fn start(&self) -> usize {
        self.name.start
    }
}

/// The fields of a text.
#[derive(Debug)]
pub(crate) struct Outline<'t> {
    text: &'t str,
    fields: Vec<Field>,
    is_empty: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Token {
    Name,
    Open,
    Close,
    Colon,
    Comma,
    Other,
}

impl<'t> Outline<'t> {
    /// Outlines a text.
    pub(crate) fn of(text: &'t str) -> Self {
        let mut fields: Vec<Field> = Vec::new();
        // Per open bracket: the field of it that is open, as an index.
        let mut open: Vec<Option<usize>> = vec![None];
        let mut name: Option<std::ops::Range<usize>> = None;
        let mut at = 0;
        while let Some((token, range)) = next_token(text, at) {
            at = range.end;
            match token {
                Token::Colon => {
                    if let (Some(name), true) = (name.take(), open.len() <= DEEPEST) {
                        let outer = open[..open.len() - 1].iter().rev().find_map(|field| *field);
                        fields.push(Field { outer, name, value: range.end..range.end });
                        set_last(&mut open, Some(fields.len() - 1));
                    }
                }
                Token::Comma => set_last(&mut open, None),
                Token::Open => open.push(None),
                Token::Close if open.len() > 1 => {
                    open.pop();
                }
                Token::Name | Token::Other | Token::Close => {}
            }
            name = (token == Token::Name).then(|| range.clone());
            if !matches!(token, Token::Colon | Token::Comma)
                && let Some(&Some(last)) = open.last()
            {
                let value = &mut fields[last].value;
                if value.start == value.end {
                    value.start = range.start;
                }
                value.end = range.end;
            } else if token == Token::Open
                && let Some(Some(outer)) = open.iter().rev().nth(1)
                && fields[*outer].value.start == fields[*outer].value.end
            {
                fields[*outer].value = range;
            }
        }
        Self { text, fields, is_empty: at == 0 }
    }

    /// Whether the text holds nothing but blanks and comments.
    pub(crate) fn is_empty(&self) -> bool {
        self.is_empty
    }

    /// The field of that path, or else the innermost one around it that the text has.
    pub(crate) fn find(&self, path: &str) -> Option<&Field> {
        let mut path = path;
        loop {
            if let Some(field) = self.fields.iter().rev().find(|field| self.is_at(field, path)) {
                return Some(field);
            }
            path = path.rsplit_once('.')?.0;
        }
    }

    /// The innermost field around a byte of the text.
    pub(crate) fn around(&self, at: usize) -> Option<&Field> {
        self.fields.iter().rev().find(|field| field.start() <= at && at <= field.value.end)
    }

    /// A field and those around it, outwards.
    fn outwards<'f>(&'f self, field: &'f Field) -> impl Iterator<Item = &'f Field> {
        std::iter::successors(Some(field), |field| Some(&self.fields[field.outer?]))
    }

    /// A field's name.
    pub(crate) fn name(&self, field: &Field) -> &'t str {
        &self.text[field.name.clone()]
    }

    /// A field's path: `encode.work.spread.cv`.
    pub(crate) fn path(&self, field: &Field) -> String {
        let mut names: Vec<&str> = self.outwards(field).map(|field| self.name(field)).collect();
        names.reverse();
        names.join(".")
    }

    fn is_at(&self, field: &Field, path: &str) -> bool {
        self.outwards(field).map(|field| self.name(field)).eq(path.rsplit('.'))
    }

    /// The text of a field's value.
    pub(crate) fn value(&self, field: &Field) -> &'t str {
        &self.text[field.value.clone()]
    }

    /// Line of a byte, from 1.
    pub(crate) fn line(&self, at: usize) -> usize {
        line_of(self.text.as_bytes(), at)
    }
}

/// Line of a byte, from 1.
pub(crate) fn line_of(bytes: &[u8], at: usize) -> usize {
    1 + bytes.iter().take(at).filter(|&&byte| byte == b'\n').count()
}

fn set_last(open: &mut [Option<usize>], field: Option<usize>) {
    if let Some(last) = open.last_mut() {
        *last = field;
    }
}

/// The next token from `at` on, blanks and comments passed over.
fn next_token(text: &str, mut at: usize) -> Option<(Token, std::ops::Range<usize>)> {
    loop {
        let (token, length) = next_piece(&text.as_bytes()[at..])?;
        if let Piece::Token(token) = token {
            return Some((token, at..at + length));
        }
        at += length;
    }
}

/// What a text is made of.
enum Piece {
    Blank,
    Comment,
    Token(Token),
}

/// What comes first, and its length.
fn next_piece(rest: &[u8]) -> Option<(Piece, usize)> {
    if rest.first()?.is_ascii_whitespace() {
        return Some((Piece::Blank, 1));
    }
    if rest.starts_with(b"//") {
        return Some((Piece::Comment, rest.iter().position(|&byte| byte == b'\n').unwrap_or(rest.len())));
    }
    if rest.starts_with(b"/*") {
        return Some((Piece::Comment, block_comment(rest)));
    }
    let (token, length) = token(rest);
    Some((Piece::Token(token), length))
}

/// Comments of a text; a line of them is one.
pub(crate) fn comments(text: &str) -> usize {
    let (mut at, mut found) = (0, 0);
    while let Some((piece, length)) = next_piece(&text.as_bytes()[at..]) {
        found += usize::from(matches!(piece, Piece::Comment));
        at += length;
    }
    found
}

fn token(rest: &[u8]) -> (Token, usize) {
    let word = |byte: &u8| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'.' | b'+' | b'-') || *byte >= 0x80;
    match rest[0] {
        b'(' | b'[' | b'{' => (Token::Open, 1),
        b')' | b']' | b'}' => (Token::Close, 1),
        b':' => (Token::Colon, 1),
        b',' => (Token::Comma, 1),
        b'"' => (Token::Other, string(rest)),
        b'r' if raw_string(rest).is_some() => (Token::Other, raw_string(rest).unwrap_or(1)),
        first if word(&first) => {
            let length = rest.iter().take_while(|byte| word(byte)).count();
            (if first.is_ascii_alphabetic() || first == b'_' { Token::Name } else { Token::Other }, length)
        }
        _ => (Token::Other, 1),
    }
}

/// Length of a block comment, comments within it included; the rest where it is not closed.
fn block_comment(rest: &[u8]) -> usize {
    let (mut depth, mut at) = (0_usize, 0);
    while at < rest.len() {
        if rest[at..].starts_with(b"/*") {
            depth += 1;
            at += 2;
        } else if rest[at..].starts_with(b"*/") {
            depth -= 1;
            at += 2;
            if depth == 0 {
                return at;
            }
        } else {
            at += 1;
        }
    }
    rest.len()
}

/// Length of a string in quotes, escapes passed over.
fn string(rest: &[u8]) -> usize {
    let mut at = 1;
    while at < rest.len() {
        match rest[at] {
            b'\\' => at += 2,
            b'"' => return at + 1,
            _ => at += 1,
        }
    }
    rest.len()
}

/// Length of a raw string, `r#"…"#`; none where it is no raw string.
fn raw_string(rest: &[u8]) -> Option<usize> {
    let hashes = rest[1..].iter().take_while(|&&byte| byte == b'#').count();
    let body = 1 + hashes + 1;
    if rest.get(body - 1) != Some(&b'"') {
        return None;
    }
    let closes =
        |at: &usize| rest[*at] == b'"' && rest[at + 1..].iter().take_while(|&&byte| byte == b'#').count() >= hashes;
    Some((body..rest.len()).find(closes).map_or(rest.len(), |at| at + 1 + hashes))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r##"#![enable(implicit_some)]
// slices: (count: 1)
Scenario( /* format: 2, /* nested */ */
    format: 1,
    name: "a (b: \" c, // d",
    notes: r#"x: "y" ("#,
    display: (
        eye_px: (2048,
            2176),
        compose: (spread: Normal(cv: 0.1, low: 0.5, high: 1.5)),
    ),
    slices: (shape: Weights([1.0, 2.0]), count: 2),
    pacing: Fixed(lead: Ms(35.0), every: 1), run: (seed: 3),
)
"##;

    #[test]
    fn fields_are_found_with_their_lines_and_values() {
        let outline = Outline::of(TEXT);
        for (path, line, value) in [
            ("format", 4, "1"),
            ("name", 5, r#""a (b: \" c, // d""#),
            ("notes", 6, r##"r#"x: "y" ("#"##),
            ("display.compose.spread", 10, "Normal(cv: 0.1, low: 0.5, high: 1.5)"),
            ("display.compose.spread.low", 10, "0.5"),
            ("slices.count", 12, "2"),
            ("slices.shape", 12, "Weights([1.0, 2.0])"),
            ("pacing.lead", 13, "Ms(35.0)"),
            ("pacing.every", 13, "1"),
            ("run.seed", 13, "3"),
        ] {
            let field = outline.find(path).unwrap();
            assert_eq!(outline.path(field), path);
            assert_eq!((outline.line(field.start()), outline.value(field)), (line, value), "{path}");
        }
        // What has no name of its own, or is not in the text: the field around it.
        let found = |path: &str| outline.find(path).map(|field| outline.path(field));
        assert_eq!(found("pacing.lead.ms").as_deref(), Some("pacing.lead"));
        assert_eq!(found("display.eye_px.height").as_deref(), Some("display.eye_px"));
        assert_eq!(found("display.refresh_hz").as_deref(), Some("display"));
        assert_eq!(found("clock.error_us"), None);
    }

    #[test]
    fn the_innermost_field_around_a_place_is_found() {
        let outline = Outline::of(TEXT);
        let around = |text: &str| outline.around(TEXT.find(text).unwrap()).map(|field| outline.path(field));
        assert_eq!(around("low: 0.5").as_deref(), Some("display.compose.spread.low"));
        assert_eq!(around("2176").as_deref(), Some("display.eye_px"));
        assert_eq!(around("35.0").as_deref(), Some("pacing.lead"));
        assert_eq!(around("Scenario"), None);
    }

    #[test]
    fn no_text_is_too_deep_or_too_broken() {
        let deep = "a:(".repeat(200_000);
        assert_eq!(Outline::of(&deep).fields.len(), DEEPEST);
        // Kept with every field in it, the name would fill a terabyte.
        let long = format!("{}: ({})", "a".repeat(1 << 20), "b: 1, ".repeat(1 << 20));
        assert_eq!(Outline::of(&long).fields.len(), 1 + (1 << 20));
        for text in ["", ")))", "a:", "\"", "/*", "r#\"", "(a: 1", "'", "a:a:a:", ":::", "\\", "é: ü", "\"\\"] {
            let _ = Outline::of(text);
        }
    }

    #[test]
    fn comments_are_counted_and_texts_are_none() {
        assert_eq!(
            comments("// one\n// two\nScenario(/* three */ name: \"// no /* comment\", notes: r#\"// no\"#) // four"),
            4
        );
        assert_eq!(comments("Scenario(name: \"a\")\n"), 0);
        assert_eq!(comments(""), 0);
    }
}
