//! Photographs for tests: drawn, not taken.

use std::io::{Cursor, Write};

use flate2::Compression;
use flate2::write::ZlibEncoder;
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use serde_json::Value;

use crate::person::Person;

/// A picture with a red upper left corner, a slope of grey elsewhere, and some noise so that it does not compress away.
pub fn picture(width: u32, height: u32) -> DynamicImage {
    let mut seed = 7_u32;
    DynamicImage::ImageRgb8(RgbImage::from_fn(width, height, |x, y| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let grey = u8::try_from((x + y) % 200).unwrap() + u8::try_from(seed >> 27).unwrap();
        if x < width / 4 && y < height / 4 { Rgb([230, 20, 20]) } else { Rgb([grey, grey, grey]) }
    }))
}

/// The picture as a file.
pub fn file(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

/// A JPEG file.
pub fn jpeg(width: u32, height: u32) -> Vec<u8> {
    file(&picture(width, height), ImageFormat::Jpeg)
}

/// The JPEG with an Exif segment (CIPA DC-008): an orientation, and a place in the GPS directory.
pub fn with_exif(jpeg: &[u8], orientation: u8) -> Vec<u8> {
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        let mut bytes = Vec::new();
        bytes.extend(tag.to_be_bytes());
        bytes.extend(kind.to_be_bytes());
        bytes.extend(count.to_be_bytes());
        bytes.extend(value);
        bytes
    };
    // Big endian TIFF: the first directory at 8 with the orientation and a pointer to the GPS directory at 38.
    let mut tiff = b"MM\0\x2a\0\0\0\x08".to_vec();
    tiff.extend(2_u16.to_be_bytes());
    tiff.extend(entry(0x0112, 3, 1, [0, orientation, 0, 0]));
    tiff.extend(entry(0x8825, 4, 1, 38_u32.to_be_bytes()));
    tiff.extend([0; 4]);
    tiff.extend(1_u16.to_be_bytes());
    tiff.extend(entry(0x0001, 2, 2, *b"N\0\0\0"));
    tiff.extend([0; 4]);
    tiff.extend(b"GPSMARK-53.3498");
    let mut segment = b"Exif\0\0".to_vec();
    segment.extend(tiff);
    let mut file = jpeg[..2].to_vec();
    file.extend([0xff, 0xe1]);
    file.extend(u16::try_from(segment.len() + 2).unwrap().to_be_bytes());
    file.extend(segment);
    file.extend(&jpeg[2..]);
    file
}

/// A black PNG of one bit a pixel, which is small however large the picture is.
pub fn blank_png(width: u32, height: u32) -> Vec<u8> {
    png(width, height, [1, 0], &[vec![0; width.div_ceil(8) as usize]])
}

/// A PNG of coloured noise whose rows repeat within the reach of its compression, so that it is small too.
pub fn noise_png(width: u32, height: u32) -> Vec<u8> {
    let mut seed = 7_u32;
    let mut random = || {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        seed.to_be_bytes()[0]
    };
    // DEFLATE looks back 32 KiB (RFC 1951, section 2).
    let reach = (32 << 10) / (1 + 3 * width);
    let rows: Vec<Vec<u8>> = (0..reach).map(|_| (0..3 * width).map(|_| random()).collect()).collect();
    png(width, height, [8, 2], &rows)
}

/// A PNG of that bit depth and colour type (PNG third edition, section 11.2.1), whose rows are these again and again.
fn png(width: u32, height: u32, kind: [u8; 2], rows: &[Vec<u8>]) -> Vec<u8> {
    let mut packed = ZlibEncoder::new(Vec::new(), Compression::best());
    for (_, row) in (0..height).zip(rows.iter().cycle()) {
        // Each row begins with the kind of its filter: none.
        packed.write_all(&[0]).unwrap();
        packed.write_all(row).unwrap();
    }
    let mut head = Vec::new();
    head.extend(width.to_be_bytes());
    head.extend(height.to_be_bytes());
    head.extend(kind);
    head.extend([0, 0, 0]);
    let mut file = b"\x89PNG\r\n\x1a\n".to_vec();
    for (name, data) in [(b"IHDR", head), (b"IDAT", packed.finish().unwrap()), (b"IEND", Vec::new())] {
        file.extend(u32::try_from(data.len()).unwrap().to_be_bytes());
        let mut crc = flate2::Crc::new();
        crc.update(name);
        crc.update(&data);
        file.extend(name);
        file.extend(data);
        file.extend(crc.sum().to_be_bytes());
    }
    file
}

/// A lossless WebP (RFC 9649, section 3.4) that claims that size and has nothing behind its head but `padding` bytes.
pub fn claiming_webp(width: u32, height: u32, padding: usize) -> Vec<u8> {
    let mut head = vec![0x2f];
    head.extend(((width - 1) | ((height - 1) << 14)).to_le_bytes());
    head.extend(vec![0; padding]);
    let length = u32::try_from(head.len()).unwrap();
    let mut file = b"RIFF".to_vec();
    file.extend((length + 12).to_le_bytes());
    file.extend(b"WEBPVP8L");
    file.extend(length.to_le_bytes());
    file.extend(head);
    file
}

/// A progressive JPEG (ITU-T T.81, B.2.2) of that size and number of components, with `padding` bytes instead of a picture.
pub fn claiming_jpeg(width: u16, height: u16, components: u8, padding: usize) -> Vec<u8> {
    let mut file = vec![0xff, 0xd8, 0xff, 0xc2, 0, 8 + 3 * components, 8];
    file.extend(height.to_be_bytes());
    file.extend(width.to_be_bytes());
    file.push(components);
    (1..=components).for_each(|component| file.extend([component, 0x11, 0]));
    file.extend([0xff, 0xda, 0, 6 + 2 * components, components]);
    (1..=components).for_each(|component| file.extend([component, 0]));
    file.extend([0, 0, 0]);
    file.extend(vec![0; padding]);
    file.extend([0xff, 0xd9]);
    file
}

impl Person {
    /// Takes in a small photograph; gives the answer's body.
    #[track_caller]
    pub fn add_photo(&self) -> Value {
        self.post_file("/v1/photos", "image/jpeg", &jpeg(64, 48)).expect(201)
    }
}
