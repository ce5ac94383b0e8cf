//! Pictures of bays over time, made of classes and attributes only, since the policy of pages allows no style within them.
//! Across they are in percent and down in pixels, so that they fit any width and their words keep their size.
//!
//! Beside each picture is a table with the same facts: a picture has no links, and colour is never the only sign. A letter
//! ties a car in the picture to its row in the table.

use baywright_domain::time::{Interval, Minute};

/// Height of a lane with its name, in pixels.
const LANE: usize = 76;

/// Height of the hours above the lanes, in pixels.
const AXIS: usize = 34;

/// Use of a stretch in the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum BarKind {
    /// Nobody can be there.
    Closed,
    /// Something cures or dries, or a car waits.
    Wait,
    /// The time is held for somebody who has not agreed.
    Held,
    /// Somebody works.
    Work,
}

/// A stretch of a lane.
#[derive(Debug, Clone)]
pub struct Bar {
    /// What it is for.
    pub kind: BarKind,
    /// Its time; what is outside the picture is cut off.
    pub when: Interval,
    /// Letter of its car; empty for none.
    pub letter: String,
    /// Words in it, shown if there is room; empty for none.
    pub words: String,
}

/// A bay or a person over time.
#[derive(Debug, Clone)]
pub struct Lane {
    /// Name above the lane.
    pub name: String,
    /// Note beside the name; empty for none.
    pub note: String,
    /// Its stretches; later ones lie above earlier ones.
    pub bars: Vec<Bar>,
}

/// What a picture shows.
#[derive(Debug, Clone)]
pub struct Scene<'a> {
    /// Id of the picture on its page.
    pub id: &'static str,
    /// Its title.
    pub title: String,
    /// What it shows and where the same is said in words.
    pub about: &'static str,
    /// The time that it shows.
    pub span: Interval,
    /// Marks above the lanes, such as hours.
    pub marks: Vec<(Minute, String)>,
    /// The lanes, from top to bottom.
    pub lanes: &'a [Lane],
    /// The present moment with its words, if the picture may show it.
    pub now: Option<(Minute, String)>,
}

/// A picture, laid out.
#[derive(Debug, Clone)]
pub struct Picture {
    /// Id of the picture on its page.
    pub id: &'static str,
    /// Its title.
    pub title: String,
    /// What it shows and where the same is said in words.
    pub about: &'static str,
    /// Its height, in pixels.
    pub height: usize,
    /// Place and label of each mark.
    pub marks: Vec<(String, String)>,
    /// The lanes.
    pub lanes: Vec<Row>,
    /// Place and words of the present moment.
    pub now: Option<(String, String)>,
    /// Kinds of stretches that are in it, for the legend.
    pub kinds: Vec<BarKind>,
}

/// A lane, laid out.
#[derive(Debug, Clone)]
pub struct Row {
    /// Name above the lane.
    pub name: String,
    /// Note beside the name.
    pub note: String,
    /// Place of the name's baseline, in pixels.
    pub text: usize,
    /// Place of the lane's upper edge, in pixels.
    pub top: usize,
    /// The bars.
    pub bars: Vec<Block>,
}

/// A bar, laid out.
#[derive(Debug, Clone)]
pub struct Block {
    /// What it is for.
    pub kind: BarKind,
    /// Place of its left edge, in percent.
    pub left: String,
    /// Its width, in percent.
    pub width: String,
    /// Letter of its car; empty for none.
    pub letter: String,
    /// Class that shows the letter only if the picture is wide enough.
    pub letter_class: &'static str,
    /// Words in it; empty for none.
    pub words: String,
    /// Class that shows the words only if the picture is wide enough.
    pub words_class: &'static str,
    /// Place of the words from the bar's left edge, in pixels.
    pub indent: usize,
}

impl BarKind {
    /// What it is called in the legend.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Work => "Work",
            Self::Wait => "Curing, drying or waiting",
            Self::Held => "Held, not agreed yet",
            Self::Closed => "Closed",
        }
    }

    /// Whether it is hatched.
    pub const fn is_hatched(self) -> bool {
        matches!(self, Self::Wait)
    }

    /// Its class in the style sheet.
    pub const fn class(self) -> &'static str {
        match self {
            Self::Work => "work",
            Self::Wait => "cure",
            Self::Held => "held",
            Self::Closed => "closed",
        }
    }

    /// The class of words on it.
    pub const fn words_on(self) -> &'static str {
        match self {
            Self::Work => "on",
            Self::Wait => "over-hatch",
            Self::Held | Self::Closed => "quiet",
        }
    }
}

/// A part of the whole in hundredths of a percent.
fn share(part: i64, whole: i64) -> i64 {
    (part * 10_000).div_euclid(whole.max(1))
}

/// Hundredths of a percent as an attribute.
fn percent(share: i64) -> String {
    format!("{}.{:02}%", share.div_euclid(100), share.rem_euclid(100))
}

/// The class that shows something of that width, in pixels, in a bar with that share of the picture; `None` if no picture
/// is wide enough. The style sheet says from which width on each class is shown.
fn class_for(pixels: i64, share: i64) -> Option<&'static str> {
    let needed = (pixels * 10_000).div_euclid(share.max(1));
    match needed {
        ..=300 => Some("w0"),
        301..=448 => Some("w1"),
        449..=640 => Some("w2"),
        641..=832 => Some("w3"),
        833..=1024 => Some("w4"),
        _ => None,
    }
}

impl Picture {
    /// Lays a scene out.
    pub fn of(scene: &Scene<'_>) -> Self {
        let whole = i64::from(scene.span.length().get());
        let place = |at: Minute| percent(share(at.get() - scene.span.from().get(), whole));
        let shown = |at: Minute| scene.span.contains(at);
        let lanes: Vec<Row> = scene.lanes.iter().enumerate().map(|(at, lane)| row(scene.span, at, lane)).collect();
        let mut kinds: Vec<BarKind> = lanes.iter().flat_map(|lane| lane.bars.iter().map(|bar| bar.kind)).collect();
        kinds.sort_unstable_by(|a, b| b.cmp(a));
        kinds.dedup();
        Self {
            id: scene.id,
            title: scene.title.clone(),
            about: scene.about,
            height: AXIS + LANE * lanes.len(),
            marks: scene
                .marks
                .iter()
                .filter(|(at, _)| shown(*at))
                .map(|(at, mark)| (place(*at), mark.clone()))
                .collect(),
            now: scene.now.clone().filter(|(at, _)| shown(*at)).map(|(at, words)| (place(at), words)),
            lanes,
            kinds,
        }
    }

    /// Place of the lower edge of the lanes, in pixels.
    pub fn bottom(&self) -> usize {
        self.height.saturating_sub(4)
    }
}

fn row(span: Interval, at: usize, lane: &Lane) -> Row {
    let top = AXIS + LANE * at + 24;
    Row {
        name: lane.name.clone(),
        note: lane.note.clone(),
        text: top - 8,
        top,
        bars: lane.bars.iter().filter_map(|bar| block(span, bar)).collect(),
    }
}

fn block(span: Interval, bar: &Bar) -> Option<Block> {
    let when = bar.when.intersection(span)?;
    let whole = i64::from(span.length().get());
    let width = share(i64::from(when.length().get()), whole);
    let letters = i64::try_from(bar.words.chars().count()).unwrap_or(i64::MAX);
    let letter = class_for(26, width).filter(|_| !bar.letter.is_empty());
    let indent = if letter.is_some() { 29 } else { 8 };
    let words = class_for(indent + 4 + letters.saturating_mul(8).min(10_000), width).filter(|_| letters > 0);
    Some(Block {
        kind: bar.kind,
        left: percent(share(when.from().get() - span.from().get(), whole)),
        width: percent(width),
        letter: if letter.is_some() { bar.letter.clone() } else { String::new() },
        letter_class: letter.unwrap_or_default(),
        words: if words.is_some() { bar.words.clone() } else { String::new() },
        words_class: words.unwrap_or_default(),
        indent: usize::try_from(indent).unwrap_or_default(),
    })
}

/// The letter of the car at that place of a list: A to Z, then numbers.
pub fn letter(place: usize) -> String {
    const LETTERS: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
    LETTERS.get(place..=place).map_or_else(|| (place + 1).to_string(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stretch(from: i64, to: i64) -> Interval {
        Interval::new(Minute::new(from), Minute::new(to)).unwrap()
    }

    fn bar(kind: BarKind, from: i64, to: i64, words: &str) -> Bar {
        Bar { kind, when: stretch(from, to), letter: "A".to_owned(), words: words.to_owned() }
    }

    #[test]
    fn bars_are_cut_at_the_edges_and_words_are_shown_where_they_fit() {
        let bars = vec![
            bar(BarKind::Work, -60, 300, "Osprey"),
            bar(BarKind::Wait, 300, 303, "Osprey dries"),
            bar(BarKind::Held, 700, 900, ""),
        ];
        let lanes = [Lane { name: "Bay 1".to_owned(), note: String::new(), bars }];
        let scene = Scene {
            id: "day",
            title: "Bays".to_owned(),
            about: "",
            span: stretch(0, 600),
            marks: vec![(Minute::new(60), "01".to_owned()), (Minute::new(700), "11".to_owned())],
            lanes: &lanes,
            now: Some((Minute::new(700), "11:40".to_owned())),
        };
        let picture = Picture::of(&scene);
        assert_eq!(
            (picture.height, picture.marks, picture.now),
            (110, vec![("10.00%".to_owned(), "01".to_owned())], None)
        );
        let row = &picture.lanes[0];
        let seen: Vec<_> =
            row.bars.iter().map(|bar| (bar.left.as_str(), bar.width.as_str(), bar.words.as_str())).collect();
        assert_eq!(seen, [("0.00%", "50.00%", "Osprey"), ("50.00%", "0.50%", "")]);
        assert_eq!((row.bars[0].letter.as_str(), row.bars[1].letter.as_str()), ("A", ""));
        assert_eq!(picture.kinds, [BarKind::Work, BarKind::Wait]);
    }

    #[test]
    fn there_are_letters_for_any_number_of_cars() {
        assert_eq!([0, 25, 26].map(letter), ["A", "Z", "27"]);
    }
}
