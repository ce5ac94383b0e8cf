//! A drawn signature.

use alloc::vec::Vec;

use crate::refusal::{Kind, Refusal};

/// Drawn lines: points on a field of 10,000 by 10,000, from its top left.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strokes(Vec<Vec<(u16, u16)>>);

/// Reason why a drawing isn't kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadStrokes {
    /// Nothing was drawn.
    #[error("nothing was drawn: draw your signature, or leave the field out")]
    Empty,
    /// Too many lines or points.
    #[error("a signature has at most 200 lines and 5,000 points: draw it again, more simply")]
    TooMany,
    /// A point outside the field.
    #[error("a point lies outside the field of 10,000 by 10,000")]
    Outside,
}

impl Refusal for BadStrokes {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-strokes"
    }
}

impl Strokes {
    /// The most lines.
    pub const MOST_LINES: usize = 200;
    /// Maximum number of points in all lines together.
    pub const MOST_POINTS: usize = 5_000;
    /// The largest coordinate.
    pub const EDGE: u16 = 10_000;

    /// Accepts a drawing within bounds.
    ///
    /// # Errors
    /// [`BadStrokes`] if nothing was drawn, or too much, or outside the field.
    pub fn new(lines: Vec<Vec<(u16, u16)>>) -> Result<Self, BadStrokes> {
        let points: usize = lines.iter().map(Vec::len).sum();
        match () {
            () if points == 0 => Err(BadStrokes::Empty),
            () if lines.len() > Self::MOST_LINES || points > Self::MOST_POINTS => Err(BadStrokes::TooMany),
            () if lines.iter().flatten().any(|(x, y)| *x > Self::EDGE || *y > Self::EDGE) => Err(BadStrokes::Outside),
            () => Ok(Self(lines)),
        }
    }

    /// The lines, each from its first point to its last.
    pub fn lines(&self) -> &[Vec<(u16, u16)>] {
        &self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn drawn_strokes_are_bounded() {
        let line = |points: usize| alloc::vec![(0, 10_000); points];
        assert!(Strokes::new(alloc::vec![line(5_000)]).is_ok());
        assert_eq!(Strokes::new(Vec::new()), Err(BadStrokes::Empty));
        assert_eq!(Strokes::new(alloc::vec![Vec::new()]), Err(BadStrokes::Empty));
        assert_eq!(Strokes::new(alloc::vec![line(2_500), line(2_501)]), Err(BadStrokes::TooMany));
        assert_eq!(Strokes::new(alloc::vec![line(1); 201]), Err(BadStrokes::TooMany));
        assert_eq!(Strokes::new(alloc::vec![alloc::vec![(0, 10_001)]]), Err(BadStrokes::Outside));
    }
}
