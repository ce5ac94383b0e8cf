//! Turns an uploaded file into a stored photograph: decoded within limits, turned upright, and encoded again, so that
//! only the picture is left (no place where it was taken, no profile, no second file behind it).

use std::borrow::Cow;
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

use baywright_domain::refusal::{Kind, Refusal};
use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, ExtendedColorType, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits, RgbImage};

use super::bare::bare;
use super::shrink::{over, shrink};
use super::weight;
use crate::platform::mapped;

/// Largest accepted file, in bytes.
pub const MAX_BYTES: usize = 12 << 20;
/// Longest accepted side, in pixels.
pub const MAX_SIDE: u32 = 12_000;
/// Largest accepted number of pixels.
pub const MAX_PIXELS: u64 = 40_000_000;
/// Maximum memory for decoding, in bytes: the picture and what its decoder needs besides.
const MAX_ALLOC: u64 = 192 << 20;
/// Maximum number of pixels for each byte of a JPEG or WebP. A photograph has a hundred times as many bytes; a smaller
/// file can't contain a picture of the size that it claims.
const PIXELS_A_BYTE: u64 = 1_000;
/// Longest stored side, in pixels: enough to see a scratch on a whole panel.
pub const KEPT_SIDE: u32 = 4_096;
/// Size in bytes that a stored photograph may always have. Noise that repeats itself makes a small PNG and a JPEG sixty
/// times as large, so one that is larger than this and than twice the file that was sent is kept with less of its detail.
const ALWAYS_KEPT_BYTES: usize = 6 << 20;
/// Longest stored side of a picture that is too large with less detail as well, in pixels: noise of that size stays below
/// [`ALWAYS_KEPT_BYTES`].
const NOISE_SIDE: u32 = 1_536;
/// The longest side of a thumbnail, in pixels.
pub const THUMB_SIDE: u32 = 320;
/// The largest thumbnail, in bytes.
pub const THUMB_BYTES: usize = 25_000;

/// A photograph with its thumbnail, as stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// The photograph.
    pub full: Jpeg,
    /// The thumbnail.
    pub thumb: Jpeg,
}

/// A JPEG file that contains only the picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Jpeg {
    /// The file.
    pub bytes: Vec<u8>,
    /// Its width in pixels.
    pub width: u32,
    /// Its height in pixels.
    pub height: u32,
}

/// Reason why a file is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadPhoto {
    /// Its first bytes match none of the three formats.
    #[error("this is no JPEG, PNG or WebP photograph; take or export it as one of these")]
    NotAPhoto,
    /// It is one of the three, but not the one declared.
    #[error("the file is {found} but was sent as {declared}; send it with Content-Type: {found}")]
    OtherType {
        /// Declared media type.
        declared: &'static str,
        /// Format according to the first bytes.
        found: &'static str,
    },
    /// It is larger than the limit.
    #[error("the photograph is larger than 12,000 pixels a side or 40 million pixels in all; scale it down first")]
    TooLarge,
    /// Decoding it takes more memory than a photograph may.
    #[error(
        "the photograph takes too much memory to open in this form; save it as an ordinary JPEG with 8 bits per colour, \
         or scale it down, then send it again"
    )]
    TooHeavy,
    /// It is truncated or damaged.
    #[error("the photograph is damaged or incomplete; take or send it again")]
    Damaged,
}

impl Refusal for BadPhoto {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-photo"
    }
}

/// The accepted media types, with their formats.
const FORMATS: [(&str, ImageFormat); 3] =
    [("image/jpeg", ImageFormat::Jpeg), ("image/png", ImageFormat::Png), ("image/webp", ImageFormat::WebP)];

/// The format according to the first bytes, one of the three.
fn sniffed(bytes: &[u8]) -> Option<(&'static str, ImageFormat)> {
    let magic = match bytes {
        [0xff, 0xd8, 0xff, ..] => ImageFormat::Jpeg,
        [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a, ..] => ImageFormat::Png,
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => ImageFormat::WebP,
        _ => return None,
    };
    FORMATS.iter().copied().find(|(_, format)| *format == magic)
}

/// Reads an uploaded file and makes the photograph and its thumbnail.
///
/// # Errors
/// [`BadPhoto`]. Limits are checked on the file's head, before any pixel is decoded.
pub fn read(bytes: &[u8], declared: &'static str) -> Result<Picture, BadPhoto> {
    let (found, format) = sniffed(bytes).ok_or(BadPhoto::NotAPhoto)?;
    if found != declared {
        return Err(BadPhoto::OtherType { declared, found });
    }
    let most = bytes.len().saturating_mul(2).clamp(ALWAYS_KEPT_BYTES, MAX_BYTES);
    // A decoder that panics on an unexpected file must not take the request's thread down with it.
    catch_unwind(AssertUnwindSafe(|| encoded(decoded(bytes, format)?, most))).unwrap_or(Err(BadPhoto::Damaged))
}

fn decoded(bytes: &[u8], format: ImageFormat) -> Result<RgbImage, BadPhoto> {
    let mut limits = Limits::default();
    limits.max_image_width = Some(MAX_SIDE);
    limits.max_image_height = Some(MAX_SIDE);
    limits.max_alloc = Some(MAX_ALLOC);
    let file: Cow<'_, [u8]> = match format {
        ImageFormat::Png => Cow::Owned(bare(bytes)),
        _ => Cow::Borrowed(bytes),
    };
    let mut reader = ImageReader::with_format(Cursor::new(&*file), format);
    reader.limits(limits.clone());
    let mut decoder = reader.into_decoder().map_err(why)?;
    let (width, height) = decoder.dimensions();
    let pixels = u64::from(width) * u64::from(height);
    if pixels > MAX_PIXELS {
        return Err(BadPhoto::TooLarge);
    }
    let length = u64::try_from(bytes.len()).unwrap_or(u64::MAX);
    let claims_too_much = format != ImageFormat::Png && pixels > length.saturating_mul(PIXELS_A_BYTE);
    if pixels == 0 || claims_too_much {
        return Err(BadPhoto::Damaged);
    }
    // When opened directly, the decoder does not count the picture itself against the limit, and never its additional
    // memory: a JPEG is copied, a PNG was.
    let beside = match format {
        ImageFormat::Jpeg => weight::of_jpeg(bytes, (width, height)).saturating_add(length),
        ImageFormat::WebP => weight::of_webp(bytes, pixels),
        _ => length,
    };
    limits.reserve(decoder.total_bytes().saturating_add(beside)).map_err(|_| BadPhoto::TooHeavy)?;
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let mut picture = DynamicImage::from_decoder(decoder).map_err(why)?;
    if width.max(height) > KEPT_SIDE {
        picture = shrink(&picture, KEPT_SIDE);
    }
    // Turning makes a copy, so it comes after the reduction to 8 bits and the removal of transparency.
    let mut picture = DynamicImage::ImageRgb8(on_white(picture));
    picture.apply_orientation(orientation);
    Ok(picture.into_rgb8())
}

fn why(error: ImageError) -> BadPhoto {
    match error {
        ImageError::Limits(_) => BadPhoto::TooLarge,
        _ => BadPhoto::Damaged,
    }
}

/// The picture without transparency: transparent areas become white instead of the colour that a tool had left there.
fn on_white(picture: DynamicImage) -> RgbImage {
    if !picture.color().has_alpha() {
        return picture.into_rgb8();
    }
    let picture = picture.into_rgba8();
    RgbImage::from_fn(picture.width(), picture.height(), |x, y| {
        let [r, g, b, a] = picture.get_pixel(x, y).0;
        image::Rgb([r, g, b].map(|part| over(part, a)))
    })
}

/// The photograph of about `most` bytes at most, with its thumbnail.
fn encoded(picture: RgbImage, most: usize) -> Result<Picture, BadPhoto> {
    let mut full = jpeg(&picture, 85)?;
    if full.bytes.len() > most {
        full = jpeg(&picture, 50)?;
    }
    let picture = DynamicImage::ImageRgb8(picture);
    if full.bytes.len() > most && picture.width().max(picture.height()) > NOISE_SIDE {
        full = jpeg(&shrink(&picture, NOISE_SIDE).into_rgb8(), 50)?;
    }
    let mut thumb = None;
    // Few pictures need more than the first try; noise does.
    for (side, quality) in [(THUMB_SIDE, 75), (THUMB_SIDE, 55), (THUMB_SIDE, 35), (240, 35), (160, 35), (120, 20)] {
        let (width, height) = (picture.width(), picture.height());
        let small = if width.max(height) > side { picture.thumbnail(side, side) } else { picture.clone() };
        let made = jpeg(&small.into_rgb8(), quality)?;
        let fits = made.bytes.len() <= THUMB_BYTES;
        thumb = Some(made);
        if fits {
            break;
        }
    }
    let thumb = thumb.filter(|made| made.bytes.len() <= THUMB_BYTES).ok_or(BadPhoto::Damaged)?;
    Ok(Picture { full, thumb })
}

fn jpeg(picture: &RgbImage, quality: u8) -> Result<Jpeg, BadPhoto> {
    let (width, height) = picture.dimensions();
    // A JPEG seldom takes more than a quarter of its picture.
    let mut bytes: Vec<u8> = mapped::room(picture.as_raw().len() / 4);
    let mut encoder = JpegEncoder::new_with_quality(&mut bytes, quality);
    encoder.encode(picture.as_raw(), width, height, ExtendedColorType::Rgb8).map_err(|_| BadPhoto::Damaged)?;
    Ok(Jpeg { bytes, width, height })
}
