//! The memory that a decoder takes beside the picture itself, counted from the file before any of it is decoded.
//!
//! A decoder allocates by what the file claims. For JPEG these are the coefficients of all components, if the file has
//! them in several scans; for WebP the planes, canvases and transparency. Each is as large as the whole picture or larger,
//! and none is counted by the decoders' own limits.

use std::collections::BTreeSet;

/// Bytes of one coefficient of a JPEG in memory.
const COEFFICIENT: u64 = 2;

/// Bytes that decoding a JPEG takes beside its picture.
pub(super) fn of_jpeg(file: &[u8]) -> u64 {
    // Read once and not again for each frame, of which a file made on purpose has a million.
    let scans: BTreeSet<u8> = marked(file, 0xda).filter_map(scan).collect();
    let sequential = marked(file, 0xc0).chain(marked(file, 0xc1)).filter_map(frame);
    let apart = sequential.filter(|frame| scans.iter().any(|components| *components != frame.components));
    let progressive = marked(file, 0xc2).filter_map(frame);
    apart.chain(progressive).map(|frame| frame.bytes).max().unwrap_or(0)
}

/// What stands behind each place that could be that marker. Decoders look for markers beyond the places where one has to
/// be, so all places count.
fn marked(file: &[u8], marker: u8) -> impl Iterator<Item = &[u8]> {
    let pairs = file.windows(2).enumerate().filter(move |(_, pair)| *pair == [0xff, marker]);
    pairs.filter_map(move |(at, _)| file.get(at + 2..))
}

/// A frame of a JPEG.
struct Frame {
    /// Bytes of its coefficients.
    bytes: u64,
    components: u8,
}

/// The frame that a header describes (ITU-T T.81, B.2.2); `None` if it is not a header.
fn frame(header: &[u8]) -> Option<Frame> {
    let (&[_, _, precision, h1, h2, w1, w2, components], rest) = header.split_first_chunk::<8>()?;
    let listed = rest.as_chunks::<3>().0.iter().take(components.into());
    let factors: Vec<(u64, u64)> =
        listed.map(|[_, both, _]| (u64::from(both >> 4).max(1), u64::from(both & 15).max(1))).collect();
    if precision != 8 || factors.len() != usize::from(components) {
        return None;
    }
    let across = factors.iter().map(|(across, _)| *across).max()?;
    let down = factors.iter().map(|(_, down)| *down).max()?;
    let (width, height) = (u16::from_be_bytes([w1, w2]), u16::from_be_bytes([h1, h2]));
    // All components have as many units as the picture is wide and high, rounded up.
    let units = u64::from(width).div_ceil(8 * across) * u64::from(height).div_ceil(8 * down);
    let blocks: u64 = factors.iter().map(|(across, down)| across * down).sum();
    Some(Frame { bytes: units * blocks * 64 * COEFFICIENT, components })
}

/// Number of components in the scan that a header describes (ITU-T T.81, B.2.3); `None` if it is not a header.
fn scan(header: &[u8]) -> Option<u8> {
    let &[l1, l2, components] = header.first_chunk::<3>()?;
    (u16::from_be_bytes([l1, l2]) == 6 + 2 * u16::from(components)).then_some(components)
}

/// What a WebP file has in it.
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
        let size = (800, 600);
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
            assert_eq!(of_jpeg(&jpeg(marker, size, factors, scanned)), bytes, "{marker:x} {factors:x?} {scanned}");
        }
    }

    #[test]
    fn a_frame_counts_wherever_it_stands() {
        let mut file = vec![0xff, 0xd8, 0xff, 0xe0, 0, 4, 1, 2, 9, 9, 9];
        file.extend(&jpeg(0xc2, (800, 600), &[0x11], 1)[2..]);
        assert_eq!(of_jpeg(&file), 800 * 600 * 2);
        assert_eq!(of_jpeg(b"\xff\xd8\xff\xc2\0\x0b"), 0);
    }

    #[test]
    fn a_file_full_of_frames_is_weighed_in_a_moment() {
        // The marker and the header of a frame with one component, 80,000 times.
        let frames = jpeg(0xc0, (800, 600), &[0x11], 1)[2..15].repeat((1 << 20) / 13);
        let scan_of_two = [0xff, 0xda, 0, 10, 2];
        let begun = Instant::now();
        assert_eq!(of_jpeg(&frames), 0);
        assert_eq!(of_jpeg(&[&frames[..], &scan_of_two].concat()), 800 * 600 * 2);
        assert!(begun.elapsed() < Duration::from_secs(10), "{:?}", begun.elapsed());
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
