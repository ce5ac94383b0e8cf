//! A PNG file without the chunks that no picture needs (PNG third edition, section 11).
//!
//! Colour profiles and texts may be compressed a thousandfold, and the decoder unpacks them before it checks any limit.
//! Frames of an animation would be decoded for nothing. So the decoder gets none of them.

use crate::platform::mapped;

/// The longest Exif chunk that is kept, in bytes; the orientation is read from it.
const EXIF_BYTES: usize = 64 << 10;

/// The file with nothing but its picture and its orientation.
pub(super) fn bare(file: &[u8]) -> Vec<u8> {
    let (signature, mut rest) = file.split_at(file.len().min(8));
    let mut kept = mapped::room(file.len());
    kept.extend_from_slice(signature);
    // Each chunk is its length, its name, that number of bytes and a checksum (section 5.3).
    while let Some([a, b, c, d, name @ ..]) = rest.first_chunk::<8>() {
        let length = usize::try_from(u32::from_be_bytes([*a, *b, *c, *d])).unwrap_or(usize::MAX);
        // The last chunk of a truncated file is shorter than it says; the decoder notices that.
        let (chunk, behind) = rest.split_at(length.saturating_add(12).min(rest.len()));
        let needed = matches!(name, b"IHDR" | b"PLTE" | b"tRNS" | b"IDAT" | b"IEND");
        if needed || (name == b"eXIf" && length <= EXIF_BYTES) {
            kept.extend_from_slice(chunk);
        }
        rest = behind;
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chunk(name: &str, data: &[u8]) -> Vec<u8> {
        let length = u32::try_from(data.len()).unwrap().to_be_bytes();
        [&length[..], name.as_bytes(), data, b"CRC!"].concat()
    }

    #[test]
    fn only_the_picture_and_its_orientation_are_left() {
        let signature = b"\x89PNG\r\n\x1a\n".to_vec();
        let kept = [chunk("IHDR", &[1; 13]), chunk("eXIf", b"MM"), chunk("IDAT", &[2; 30]), chunk("IEND", b"")];
        let file = [
            &signature,
            &kept[0],
            &chunk("iCCP", b"bomb"),
            &chunk("zTXt", b"bomb"),
            &kept[1],
            &chunk("eXIf", &vec![3; EXIF_BYTES + 1]),
            &chunk("acTL", &[4; 8]),
            &kept[2],
            &chunk("iTXt", b"bomb"),
            &kept[3],
        ];
        let file: Vec<u8> = file.into_iter().flatten().copied().collect();
        assert_eq!(bare(&file), [signature, kept.concat()].concat());
    }

    #[test]
    fn a_file_that_breaks_off_anywhere_stays_broken_off() {
        let file = [b"\x89PNG\r\n\x1a\n".to_vec(), chunk("IHDR", &[1; 13]), chunk("IDAT", &[2; 30])].concat();
        for length in 0..file.len() {
            let left = bare(&file[..length]);
            assert!(left.len() <= length && file.starts_with(&left), "{length}");
        }
        let lie = [b"\x89PNG\r\n\x1a\n".as_slice(), &[0xff; 4], b"IDAT", b"short"].concat();
        assert_eq!(bare(&lie), lie);
    }
}
