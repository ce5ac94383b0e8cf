//! The memory that a decoder needs besides the picture itself, computed from the file before any of it is decoded.
//!
//! A decoder allocates by what the file claims. For JPEG these are the coefficients of all components, if the file has
//! them in several scans; for WebP the planes, canvases and transparency. Each is as large as the whole picture or larger,
//! and none is counted by the decoders' own limits.

use std::collections::BTreeSet;
use std::ops::RangeInclusive;

/// Bytes of one coefficient of a JPEG in memory.
const COEFFICIENT: u64 = 2;

/// Numbers of components that the decoder takes in a frame and in a scan.
const COMPONENTS: RangeInclusive<u8> = 1..=4;

/// Maximum number of segments that are followed from a frame to its first scan; a photograph has a few tables there.
const MOST_SEGMENTS: usize = 64;

/// Bytes that decoding a JPEG takes beside its picture, which is `size` pixels wide and high.
pub(super) fn of_jpeg(file: &[u8], size: (u32, u32)) -> u64 {
    // Read once and not again for each frame, of which a file made on purpose has a million.
    let scans: BTreeSet<u8> = marked(file, 0xda).filter_map(scan).collect();
    let sequential = frames(file, 0xc0, size).chain(frames(file, 0xc1, size));
    let apart = sequential.filter(|frame| frame.begins_apart(&scans));
    apart.chain(frames(file, 0xc2, size)).map(|frame| frame.bytes).max().unwrap_or(0)
}

/// Frames with that marker that may be the picture's own. The decoder reads one of them and takes its size as the
/// picture's; which one is not known here. Thumbnails and gain maps have frames of other sizes.
fn frames(file: &[u8], marker: u8, size: (u32, u32)) -> impl Iterator<Item = Frame<'_>> {
    marked(file, marker).filter_map(frame).filter(move |frame| frame.size == size)
}

/// The data after each position that could be that marker. Decoders search for markers beyond the proper positions, so
/// all positions count.
fn marked(file: &[u8], marker: u8) -> impl Iterator<Item = &[u8]> {
    let pairs = file.windows(2).enumerate().filter(move |(_, pair)| *pair == [0xff, marker]);
    pairs.filter_map(move |(at, _)| file.get(at + 2..))
}

/// A frame of a JPEG.
struct Frame<'f> {
    /// Its width and height, in pixels.
    size: (u32, u32),
    /// Bytes of its coefficients.
    bytes: u64,
    components: u8,
    /// The part of the file behind its header.
    behind: &'f [u8],
}

impl Frame<'_> {
    /// Whether its first scan lacks a component: the decoder then keeps all coefficients until it has read the other scans.
    /// If that scan is not found, any of the file's `scans` may be the first.
    fn begins_apart(&self, scans: &BTreeSet<u8>) -> bool {
        match first_scan(self.behind) {
            Some(components) => components != self.components,
            None => scans.iter().any(|components| *components != self.components),
        }
    }
}

/// The frame that a header describes (ITU-T T.81, B.2.2); `None` if the decoder would refuse it.
fn frame(header: &[u8]) -> Option<Frame<'_>> {
    let (&[l1, l2, precision, h1, h2, w1, w2, components], rest) = header.split_first_chunk::<8>()?;
    let length = 8 + 3 * u16::from(components);
    if precision != 8 || !COMPONENTS.contains(&components) || u16::from_be_bytes([l1, l2]) != length {
        return None;
    }
    let (listed, behind) = rest.split_at_checked(3 * usize::from(components))?;
    let listed = listed.as_chunks::<3>().0.iter();
    let factors: Vec<(u64, u64)> =
        listed.map(|[_, both, _]| (u64::from(both >> 4).max(1), u64::from(both & 15).max(1))).collect();
    let across = factors.iter().map(|(across, _)| *across).max()?;
    let down = factors.iter().map(|(_, down)| *down).max()?;
    let (width, height) = (u16::from_be_bytes([w1, w2]), u16::from_be_bytes([h1, h2]));
    // All components have as many units as the picture is wide and high, rounded up.
    let units = u64::from(width).div_ceil(8 * across) * u64::from(height).div_ceil(8 * down);
    let blocks: u64 = factors.iter().map(|(across, down)| across * down).sum();
    let bytes = units * blocks * 64 * COEFFICIENT;
    Some(Frame { size: (width.into(), height.into()), bytes, components, behind })
}

/// Number of components in a frame's first scan; `None` if anything other than tables and comments comes before it. The
/// decoder skips these by their length or refuses them, so it reaches the same scan.
fn first_scan(mut rest: &[u8]) -> Option<u8> {
    for _ in 0..MOST_SEGMENTS {
        rest = match rest {
            [0xff, 0xda, header @ ..] => return scan(header),
            [0xff, 0xc4 | 0xdb | 0xdd | 0xfe, segment @ ..] => {
                let length = u16::from_be_bytes(*segment.first_chunk::<2>()?);
                segment.get(usize::from(length)..)?
            }
            _ => return None,
        };
    }
    None
}

/// Number of components in the scan that a header describes (ITU-T T.81, B.2.3); `None` if the decoder would refuse it.
fn scan(header: &[u8]) -> Option<u8> {
    let &[l1, l2, components] = header.first_chunk::<3>()?;
    let holds = COMPONENTS.contains(&components) && u16::from_be_bytes([l1, l2]) == 6 + 2 * u16::from(components);
    holds.then_some(components)
}

/// Content of a WebP file.
#[derive(Default)]
struct Found {
    /// Bytes of the planes of its largest lossy picture.
    planes: u64,
    lossless: bool,
    alpha: bool,
    moving: bool,
}

/// Bytes that decoding a WebP takes beside its picture of `pixels` pixels.
pub(super) fn of_webp(file: &[u8], pixels: u64) -> u64 {
    let mut found = Found::default();
    for (name, body) in chunks(file.get(12..).unwrap_or_default()) {
        found.note(*name, body);
        if name == b"ANMF" {
            // Behind the frame's place and size come the chunks of its picture.
            chunks(body.get(16..).unwrap_or_default()).for_each(|(name, body)| found.note(*name, body));
        }
    }
    // A copy with four parts a pixel and its transforms; the same and one part for transparency; a frame and its canvas.
    let each = [(found.lossless, 5), (found.alpha, 5), (found.moving, 8)];
    let a_pixel: u64 = each.iter().filter(|(there, _)| *there).map(|(_, bytes)| bytes).sum();
    found.planes.saturating_add(pixels.saturating_mul(a_pixel))
}

impl Found {
    fn note(&mut self, name: [u8; 4], body: &[u8]) {
        match &name {
            b"VP8 " => self.planes = self.planes.max(planes(body)),
            b"VP8L" => self.lossless = true,
            b"ALPH" => self.alpha = true,
            b"ANMF" => self.moving = true,
            _ => {}
        }
    }
}

/// Bytes of the three planes of a lossy picture (RFC 6386, section 9.1): its own size counts, whatever the canvas says.
fn planes(body: &[u8]) -> u64 {
    let Some(&[_, _, _, 0x9d, 0x01, 0x2a, w1, w2, h1, h2]) = body.first_chunk::<10>() else { return 0 };
    let side = |low, high| u64::from(u16::from_le_bytes([low, high]) & 0x3fff).next_multiple_of(16);
    side(w1, w2) * side(h1, h2) * 3 / 2
}

/// The chunks of a RIFF file (RFC 9649, section 2.3), each with its name.
fn chunks(mut rest: &[u8]) -> impl Iterator<Item = (&[u8; 4], &[u8])> {
    std::iter::from_fn(move || {
        let (name, behind) = rest.split_first_chunk::<4>()?;
        let (length, behind) = behind.split_first_chunk::<4>()?;
        let length = usize::try_from(u32::from_le_bytes(*length)).unwrap_or(usize::MAX);
        let body = &behind[..length.min(behind.len())];
        rest = behind.get(length.saturating_add(length & 1)..).unwrap_or_default();
        Some((name, body))
    })
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use super::*;

    /// A JPEG's headers: a frame of that marker and size with those sampling factors, and a scan of so many components.
    fn jpeg(marker: u8, (width, height): (u16, u16), factors: &[u8], scanned: u8) -> Vec<u8> {
        let parts = u8::try_from(factors.len()).unwrap();
        let mut file = vec![0xff, 0xd8, 0xff, marker, 0, 8 + 3 * parts, 8];
        file.extend([height.to_be_bytes(), width.to_be_bytes()].concat());
        file.push(parts);
        for (at, factor) in (1..).zip(factors) {
            file.extend([at, *factor, 0]);
        }
        file.extend([0xff, 0xda, 0, 6 + 2 * scanned, scanned]);
        file
    }

    #[test]
    fn the_coefficients_of_a_jpeg_count_if_its_components_come_one_after_the_other() {
        let pixels = 800 * 600;
        for (marker, factors, scanned, bytes) in [
            (0xc0, &[0x11, 0x11, 0x11][..], 3, 0),
            (0xc0, &[0x11, 0x11, 0x11][..], 1, pixels * 6),
            (0xc1, &[0x11][..], 1, 0),
            (0xc2, &[0x11, 0x11, 0x11][..], 3, pixels * 6),
            (0xc2, &[0x11, 0x11, 0x11, 0x11][..], 4, pixels * 8),
            // A component with half of the samples each way; 600 is no multiple of 16.
            (0xc2, &[0x22, 0x11, 0x11][..], 3, 800 * 608 * 3),
        ] {
            let file = jpeg(marker, (800, 600), factors, scanned);
            assert_eq!(of_jpeg(&file, (800, 600)), bytes, "{marker:x} {factors:x?} {scanned}");
        }
    }

    #[test]
    fn a_frame_counts_wherever_it_stands() {
        let mut file = vec![0xff, 0xd8, 0xff, 0xe0, 0, 4, 1, 2, 9, 9, 9];
        file.extend(&jpeg(0xc2, (800, 600), &[0x11], 1)[2..]);
        assert_eq!(of_jpeg(&file, (800, 600)), 800 * 600 * 2);
        assert_eq!(of_jpeg(b"\xff\xd8\xff\xc2\0\x0b", (800, 600)), 0);
    }

    #[test]
    fn a_file_full_of_frames_is_weighed_in_a_moment() {
        // The marker and the header of a frame with one component, 80,000 times.
        let frames = jpeg(0xc0, (800, 600), &[0x11], 1)[2..15].repeat((1 << 20) / 13);
        let scan_of_two = [0xff, 0xda, 0, 10, 2];
        let begun = Instant::now();
        assert_eq!(of_jpeg(&frames, (800, 600)), 0);
        assert_eq!(of_jpeg(&[&frames[..], &scan_of_two].concat(), (800, 600)), 800 * 600 * 2);
        assert!(begun.elapsed() < Duration::from_secs(10), "{:?}", begun.elapsed());
    }

    #[test]
    fn chance_bytes_and_other_pictures_of_the_file_do_not_count() {
        let photo = jpeg(0xc0, (800, 600), &[0x22, 0x11, 0x11], 3);
        let weigh = |behind: &[u8]| of_jpeg(&[&photo[..], behind].concat(), (800, 600));
        assert_eq!(weigh(b"\xff\xd9"), 0);
        // Progressive frames of the same size: one with a wrong length, one with more components than there may be.
        assert_eq!(weigh(b"\xff\xc2\x12\x34\x08\x02\x58\x03\x20\x01\x01\x11\0"), 0);
        assert_eq!(weigh(&jpeg(0xc2, (800, 600), &[0x11; 5], 5)), 0);
        // A gain map with one component, and a preview in several scans.
        assert_eq!(weigh(&jpeg(0xc0, (400, 300), &[0x11], 1)), 0);
        assert_eq!(weigh(&jpeg(0xc2, (1600, 1200), &[0x11, 0x11, 0x11], 3)), 0);
    }

    #[test]
    fn the_first_scan_is_the_one_behind_the_tables_whatever_a_comment_claims() {
        let coefficients = 800 * 608 * 3;
        let comment = [0xff, 0xfe, 0, 7, 0xff, 0xda, 0, 12, 3];
        let table = [0xff, 0xc4, 0, 4, 7, 7];
        let elsewhere = [0xff, 0xda, 0, 8, 1];
        let weigh = |between: &[u8], scanned: u8| {
            let photo = jpeg(0xc0, (800, 600), &[0x22, 0x11, 0x11], scanned);
            let (frame, scan) = photo.split_at(21);
            of_jpeg(&[frame, between, scan, &elsewhere].concat(), (800, 600))
        };
        assert_eq!(weigh(&[&table[..], &comment].concat(), 3), 0);
        assert_eq!(weigh(&[&table[..], &comment].concat(), 2), coefficients);
        // If the way to the first scan is not clear, any of them may be it.
        for unclear in [b"\xff".to_vec(), b"\xff\xe0\0\x02".to_vec(), comment.repeat(MOST_SEGMENTS)] {
            assert_eq!(weigh(&unclear, 3), coefficients, "{unclear:x?}");
        }
    }

    fn riff(chunks: &[(&[u8; 4], &[u8])]) -> Vec<u8> {
        let mut file = b"RIFF\0\0\0\0WEBP".to_vec();
        for (name, body) in chunks {
            file.extend(*name);
            file.extend(u32::try_from(body.len()).unwrap().to_le_bytes());
            file.extend(*body);
            file.extend(vec![0; body.len() % 2]);
        }
        file
    }

    #[test]
    fn what_a_webp_has_in_it_counts_also_in_a_frame_and_beyond_the_canvas() {
        // 16383 pixels each way, rounded up to blocks of 16.
        let lossy = b"\0\0\0\x9d\x01\x2a\xff\x3f\xff\x3f";
        let planes = 16_384 * 16_384 * 3 / 2;
        assert_eq!(of_webp(&riff(&[(b"VP8 ", lossy)]), 100), planes);
        assert_eq!(of_webp(&riff(&[(b"VP8X", &[0; 10]), (b"VP8 ", lossy)]), 100), planes);
        assert_eq!(of_webp(&riff(&[(b"VP8L", b"\x2f\0\0\0\0")]), 100), 500);
        assert_eq!(of_webp(&riff(&[(b"VP8X", &[0; 10]), (b"ALPH", b"odd"), (b"VP8 ", lossy)]), 100), planes + 500);
        let frame = [&[0; 16][..], &riff(&[(b"VP8 ", lossy)])[12..]].concat();
        assert_eq!(of_webp(&riff(&[(b"VP8X", &[0; 10]), (b"ANMF", &frame)]), 100), planes + 800);
        assert_eq!(of_webp(b"RIFF\0\0\0\0WEBPVP8L", 100), 0);
    }
}
