//! The words for kinds and states in the API and in the database.
//!
//! Each such enum is declared once, with its `UPPER_SNAKE` word for programs and its label for people, so that the
//! two can't drift from the variants.

use alloc::string::String;
use alloc::vec::Vec;

use crate::refusal::{Kind, Refusal};

/// Text that is not one of the words of a kind or state.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{given:?} is no {what}: use one of {}", known.join(", "))]
pub struct UnknownWord {
    /// Name of the kind, such as `size class`.
    pub what: &'static str,
    /// The text given, cut to 40 characters.
    pub given: String,
    /// The known words.
    pub known: Vec<&'static str>,
}

impl UnknownWord {
    /// The refusal of `given`, which is none of the words `known` for a `what`.
    pub fn new(what: &'static str, given: &str, known: Vec<&'static str>) -> Self {
        Self { what, given: given.chars().take(40).collect(), known }
    }
}

impl Refusal for UnknownWord {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "unknown-word"
    }
}

/// Declares an enum whose variants have a word for programs and a label for people.
macro_rules! words {
    (
        $(#[$doc:meta])*
        pub enum $name:ident($what:literal) {
            $($(#[$inner:meta])* $variant:ident = $word:literal $label:literal),+ $(,)?
        }
    ) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $($(#[$inner])* $variant,)+
        }

        impl $name {
            /// Every value, in the order of declaration.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word for programs, in `UPPER_SNAKE`; it never changes once released.
            pub const fn as_str(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)+
                }
            }

            /// The label for people.
            pub const fn label(self) -> &'static str {
                match self {
                    $(Self::$variant => $label,)+
                }
            }

            /// Reads the word for programs.
            ///
            /// # Errors
            /// [`UnknownWord`](crate::word::UnknownWord) if it is none of them; case matters.
            pub fn parse(text: &str) -> Result<Self, crate::word::UnknownWord> {
                match text {
                    $($word => Ok(Self::$variant),)+
                    _ => Err(crate::word::UnknownWord::new($what, text, alloc::vec![$($word),+])),
                }
            }
        }

        impl core::fmt::Display for $name {
            fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                f.write_str(self.label())
            }
        }
    };
}

pub(crate) use words;

#[cfg(test)]
mod tests {
    use alloc::string::ToString;

    words! {
        /// A kind to test with.
        pub enum Light("light") {
            /// Stop.
            Red = "RED" "red",
            /// Go.
            GoAhead = "GO_AHEAD" "go ahead",
        }
    }

    #[test]
    fn a_word_reads_back_and_another_is_refused_with_the_known_ones() {
        for light in Light::ALL {
            assert_eq!(Light::parse(light.as_str()), Ok(*light));
        }
        let refusal = Light::parse("red").unwrap_err().to_string();
        assert_eq!(refusal, "\"red\" is no light: use one of RED, GO_AHEAD");
    }
}
