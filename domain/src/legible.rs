//! Checks whether people can read a text as it is stored: something in it is visible, and nothing in it changes the
//! reading direction.
//!
//! Names are read on paper and compared by eye, so a name of invisible characters, or one that shows its letters in
//! another order than they are stored in, is refused everywhere. Characters without a shape of their own are allowed
//! beside others: Persian and the scripts of India need U+200C and U+200D inside words, emoji are joined by them.

/// Whether the character breaks the line, or changes the direction in which those after it are read: controls, U+2028 and
/// U+2029, and the property `Bidi_Control` (Unicode Standard Annex 9, explicit and implicit directional marks).
pub fn misleads(c: char) -> bool {
    c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') || is_bidi_control(c)
}

/// The property `Bidi_Control` (Unicode Character Database, PropList.txt).
pub fn is_bidi_control(c: char) -> bool {
    matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Whether anything of the text is seen.
pub fn is_seen(text: &str) -> bool {
    text.chars().any(|c| !c.is_whitespace() && !c.is_control() && !is_format(c) && !is_blank(c))
}

/// `General_Category` Cf, format characters (Unicode Character Database 16.0, DerivedGeneralCategory.txt).
pub fn is_format(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{600}'..='\u{605}' | '\u{61c}' | '\u{6dd}' | '\u{70f}' | '\u{890}'..='\u{891}' | '\u{8e2}'
        | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2064}'
        | '\u{2066}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{110bd}' | '\u{110cd}'
        | '\u{13430}'..='\u{1343f}' | '\u{1bca0}'..='\u{1bca3}' | '\u{1d173}'..='\u{1d17a}' | '\u{e0001}'
        | '\u{e0020}'..='\u{e007f}')
}

/// Characters of other categories that are invisible by themselves: those of the property
/// `Default_Ignorable_Code_Point` (DerivedCoreProperties.txt), such as the fillers of Hangul and the variation
/// selectors, and the empty braille cell.
pub fn is_blank(c: char) -> bool {
    matches!(c,
        '\u{34f}' | '\u{115f}'..='\u{1160}' | '\u{17b4}'..='\u{17b5}' | '\u{180b}'..='\u{180f}' | '\u{2065}' | '\u{2800}'
        | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{ffa0}' | '\u{fff0}'..='\u{fff8}' | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_nobody_sees_is_no_text_and_what_stands_beside_letters_does_no_harm() {
        for nothing in
            ["", "  ", "\u{200b}\u{200b}", "\u{feff}", "\u{ad}", "\u{3164}", "\u{2800}", "\u{fe0f}", "\u{e0061}"]
        {
            assert!(!is_seen(nothing), "{nothing:?}");
        }
        // Persian "mi-khaham" with a non-joiner, Malayalam with a joiner, a joined emoji, a soft hyphen.
        for something in
            ["\u{645}\u{6cc}\u{200c}\u{62e}\u{648}", "\u{d28}\u{d4d}\u{200d}", "👩\u{200d}🔧", "a\u{ad}b", "x"]
        {
            assert!(is_seen(something) && !something.chars().any(misleads), "{something:?}");
        }
    }

    #[test]
    fn what_turns_the_order_of_reading_misleads() {
        for c in ['\u{202e}', '\u{2067}', '\u{200f}', '\u{61c}', '\u{2028}', '\n', '\u{7f}'] {
            assert!(misleads(c), "{c:?}");
        }
        for c in ['é', 'ل', '\u{200c}', '\u{200d}', ' '] {
            assert!(!misleads(c), "{c:?}");
        }
    }
}
