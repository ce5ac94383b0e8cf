//! Photographs over HTTP.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use baywright_core::platform::identity::Role;
use baywright_tests::answer::Answer;
use baywright_tests::make::media::{
    blank_png, claiming_jpeg, claiming_webp, file, jpeg, noise_png, picture, with_exif,
};
use baywright_tests::{Studio, on_each_engine};
use image::{DynamicImage, GenericImageView, ImageFormat};

/// The markers of a JPEG's segments before its first scan (ITU-T T.81, B.1.1.3).
fn markers(jpeg: &[u8]) -> Vec<u8> {
    let mut at = 2;
    let mut found = Vec::new();
    while jpeg[at] == 0xff && jpeg[at + 1] != 0xda {
        found.push(jpeg[at + 1]);
        at += 2 + usize::from(u16::from_be_bytes([jpeg[at + 2], jpeg[at + 3]]));
    }
    found
}

fn shown(studio: &Studio, made: &Answer) -> DynamicImage {
    let bytes = studio.owner().get(made.header("location")).bytes;
    image::load_from_memory_with_format(&bytes, ImageFormat::Jpeg).unwrap()
}

#[test]
fn each_format_is_taken_in_and_served_as_jpeg_with_a_thumbnail() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        for (media_type, format) in
            [("image/jpeg", ImageFormat::Jpeg), ("image/png", ImageFormat::Png), ("image/webp", ImageFormat::WebP)]
        {
            let sent = file(&picture(800, 600), format);
            let made = owner.post_file("/v1/photos", media_type, &sent);
            let location = made.header("location").to_owned();
            let view = made.clone().expect(201);
            assert_eq!((view["width"].as_u64(), view["height"].as_u64()), (Some(800), Some(600)));
            let full = owner.get(&location);
            assert_eq!(full.header("content-type"), "image/jpeg");
            assert_eq!(full.header("x-content-type-options"), "nosniff");
            assert!(full.header("content-security-policy").contains("sandbox"));
            assert!(full.header("content-disposition").starts_with("inline; filename=\"photo-"));
            assert_eq!(Some(full.bytes.len() as u64), view["bytes"].as_u64());
            let small = owner.get(&format!("{location}/thumbnail"));
            assert!(small.bytes.len() <= 25_000);
            let small = image::load_from_memory_with_format(&small.bytes, ImageFormat::Jpeg).unwrap();
            assert_eq!(small.dimensions(), (320, 240));
            let again = owner.send("GET", &location, &[("if-none-match", &full.etag())], None);
            assert_eq!((again.status, again.bytes.len()), (304, 0));
            assert_eq!(owner.get(&format!("{location}/details")).expect(200), view);
            let corner = shown(studio, &made).get_pixel(50, 50).0;
            assert!(corner[0] > 180 && corner[1] < 80, "{corner:?}");
        }
    });
}

#[test]
fn nothing_but_the_picture_is_kept_and_it_stands_the_right_way_up() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        // Orientation 6 (CIPA DC-008): the camera was turned, the picture's upper left belongs to the upper right.
        let mut sent = with_exif(&jpeg(400, 300), 6);
        sent.extend(b"<script>alert(1)</script>PK\x03\x04");
        let made = owner.post_file("/v1/photos", "image/jpeg", &sent);
        assert_eq!(made.status, 201, "{}", made.text);
        let kept = owner.get(made.header("location")).bytes;
        // APP0 (0xe0) is the file's own head; every other application segment and comment is gone.
        assert!(markers(&kept).iter().all(|marker| *marker == 0xe0 || !(0xe1..=0xfe).contains(marker)), "{kept:?}");
        for gone in [&b"Exif"[..], b"GPSMARK", b"<script>", b"PK\x03\x04", b"ICC_PROFILE"] {
            assert!(!kept.windows(gone.len()).any(|window| window == gone));
        }
        let turned = shown(studio, &made);
        assert_eq!(turned.dimensions(), (300, 400));
        let (right, left) = (turned.get_pixel(280, 20).0, turned.get_pixel(20, 20).0);
        assert!(right[0] > 180 && right[1] < 80 && left[1].abs_diff(left[0]) < 40, "{right:?} {left:?}");
    });
}

#[test]
fn what_is_no_photograph_is_refused() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let post = |media_type: &str, bytes: &[u8]| owner.post_file("/v1/photos", media_type, bytes);
        post("image/svg+xml", b"<svg xmlns='http://www.w3.org/2000/svg'/>").problem(415, "unsupported-media-type");
        post("text/html", b"<html></html>").problem(415, "unsupported-media-type");
        for lie in [
            &b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>"[..],
            b"<!doctype html><script>alert(1)</script>",
            b"GIF89a\x01\0\x01\0\0\0\0;",
            b"%PDF-1.7",
            b"\xff\xd8",
            b"\xff\xd8\xff",
            b"\x89PNG\r\n\x1a\n",
            b"RIFF\x04\0\0\0WEBP",
        ] {
            for media_type in ["image/jpeg", "image/png", "image/webp"] {
                post(media_type, lie).problem(422, "bad-photo");
            }
        }
        let html_first: Vec<u8> = [b"<script>alert(1)</script>".as_slice(), &jpeg(8, 8)].concat();
        post("image/jpeg", &html_first).problem(422, "bad-photo");
        let png = file(&picture(8, 8), ImageFormat::Png);
        let refused = post("image/jpeg", &png).problem(422, "bad-photo");
        assert!(refused["detail"].as_str().unwrap().contains("image/png"));
        post("image/jpeg", b"").problem(400, "malformed-request");
        post("image/jpeg", &vec![0xff; (12 << 20) + 1]).problem(413, "body-too-large");
        studio.nobody().post_file("/v1/photos", "image/jpeg", &jpeg(8, 8)).problem(401, "not-signed-in");
        let accountant = studio.colleague(Role::Accountant);
        accountant.post_file("/v1/photos", "image/jpeg", &jpeg(8, 8)).problem(403, "not-allowed");
    });
}

#[test]
fn a_small_file_with_a_huge_picture_is_refused_before_it_is_decoded() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        for (width, height) in [(30_000, 30_000), (12_001, 8), (12_000, 12_000), (8_000, 5_001)] {
            let bomb = blank_png(width, height);
            assert!(bomb.len() < 200_000, "{} bytes", bomb.len());
            let refuse = || {
                let begun = Instant::now();
                let refused = owner.post_file("/v1/photos", "image/png", &bomb).problem(422, "bad-photo");
                assert!(refused["detail"].as_str().unwrap().contains("12,000"), "{refused}");
                begun.elapsed()
            };
            // The quickest of a few: other tests run beside this one, and decoding is slow each time.
            let quickest = (0..5).map(|_| refuse()).min().unwrap();
            assert!(quickest < Duration::from_millis(500), "{quickest:?}");
        }
        owner.post_file("/v1/photos", "image/png", &blank_png(3_000, 2_000)).expect(201);
    });
}

#[test]
fn a_file_whose_decoder_would_take_too_much_memory_is_refused_before_it_is_decoded() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let refused = |media_type: &str, bytes: &[u8]| -> String {
            let refused = owner.post_file("/v1/photos", media_type, bytes).problem(422, "bad-photo");
            refused["detail"].as_str().unwrap().to_owned()
        };
        // A file of some thirty bytes has no picture of forty million pixels in it.
        assert!(refused("image/webp", &claiming_webp(8000, 5000, 10)).contains("damaged"));
        assert!(refused("image/jpeg", &claiming_jpeg(8000, 5000, 3, 10)).contains("damaged"));
        assert!(refused("image/webp", &claiming_webp(8000, 5000, 50_000)).contains("memory"));
        for components in [3, 4] {
            let sent = claiming_jpeg(8000, 5000, components, 50_000);
            assert!(refused("image/jpeg", &sent).contains("memory"), "{components} components");
        }
    });
}

#[test]
fn what_stands_behind_a_photograph_does_not_make_it_too_heavy() {
    on_each_engine(|studio| {
        // Bytes that look like a frame's header but for its length, and a second picture in the same file.
        let chance = b"\xff\xc2\x12\x34\x08\xff\xff\xff\xff\x03\x01\x11\0\x02\x11\0\x03\x11\0".to_vec();
        for behind in [chance, claiming_jpeg(8000, 5000, 4, 10)] {
            let sent = [jpeg(400, 300), behind].concat();
            let made = studio.owner().post_file("/v1/photos", "image/jpeg", &sent).expect(201);
            assert_eq!((made["width"].as_u64(), made["height"].as_u64()), (Some(400), Some(300)));
        }
    });
}

#[test]
fn a_file_that_breaks_off_anywhere_is_answered_and_never_a_defect() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let mut tried = 0;
        for (media_type, format) in
            [("image/jpeg", ImageFormat::Jpeg), ("image/png", ImageFormat::Png), ("image/webp", ImageFormat::WebP)]
        {
            let whole = file(&picture(120, 90), format);
            for twentieth in 1..20 {
                let answer = owner.post_file("/v1/photos", media_type, &whole[..whole.len() * twentieth / 20]);
                assert!(matches!(answer.status, 201 | 422), "{twentieth}/20 of a {media_type}: {}", answer.text);
                // The same length with bytes in the middle turned round.
                let mut damaged = whole.clone();
                let at = damaged.len() * twentieth / 20;
                damaged[at..].iter_mut().take(30).for_each(|byte| *byte = !*byte);
                let answer = owner.post_file("/v1/photos", media_type, &damaged);
                assert!(matches!(answer.status, 201 | 422), "{twentieth}/20 of a {media_type}: {}", answer.text);
                tried += 2;
            }
        }
        assert!(tried > 100);
        // The decoder works on.
        owner.add_photo();
    });
}

#[test]
fn another_shop_sees_nothing_and_a_repeated_upload_makes_one() {
    on_each_engine(|studio| {
        let technician = studio.colleague(Role::Technician);
        let headers = [("content-type", "image/jpeg"), ("idempotency-key", "once")];
        let first = technician.send("POST", "/v1/photos", &headers, Some(jpeg(64, 48)));
        let again = technician.send("POST", "/v1/photos", &headers, Some(jpeg(64, 48)));
        assert_eq!((again.header("idempotency-replayed"), &again.text), ("true", &first.text));
        let other = technician.send("POST", "/v1/photos", &headers, Some(jpeg(48, 64)));
        other.problem(422, "idempotency-key-reused");
        let location = first.header("location");
        for path in [location.to_owned(), format!("{location}/thumbnail"), format!("{location}/details")] {
            technician.get(&path).expect(200);
            studio.stranger().get(&path).problem(404, "not-found");
            studio.nobody().get(&path).problem(401, "not-signed-in");
        }
    });
}

#[test]
fn a_long_file_comes_through_in_pieces_as_it_was_sent() {
    on_each_engine(|studio| {
        // Noise: several MiB as PNG.
        let sent = file(&picture(1500, 1100), ImageFormat::Png);
        assert!(sent.len() > 1 << 20, "{}", sent.len());
        let made = studio.owner().post_file("/v1/photos", "image/png", &sent);
        let view = made.clone().expect(201);
        assert_eq!((view["width"].as_u64(), view["height"].as_u64()), (Some(1500), Some(1100)));
        // Nothing is left of it where it arrived.
        let left = std::fs::read_dir(studio.folder()).unwrap().map(|entry| entry.unwrap().file_name());
        let left: Vec<_> = left.filter(|name| name.to_string_lossy().starts_with(".tmp")).collect();
        assert!(left.is_empty(), "{left:?}");
    });
}

#[test]
fn a_picture_with_a_side_that_is_too_long_to_keep_is_made_smaller() {
    on_each_engine(|studio| {
        let made = studio.owner().post_file("/v1/photos", "image/png", &blank_png(12_000, 333));
        let view = made.clone().expect(201);
        assert_eq!((view["width"].as_u64(), view["height"].as_u64()), (Some(4096), Some(114)));
        assert!(shown(studio, &made).pixels().all(|(_, _, pixel)| pixel.0[0] < 8));
    });
}

#[test]
fn a_small_file_takes_no_more_than_a_few_mebibytes_of_the_disk_whatever_its_picture_is() {
    on_each_engine(|studio| {
        let sent = noise_png(2_000, 4_000);
        assert!(sent.len() < 400_000, "{}", sent.len());
        let made = studio.owner().post_file("/v1/photos", "image/png", &sent).expect(201);
        assert!(made["bytes"].as_u64().unwrap() <= 6 << 20, "{made}");
        assert!(made["height"].as_u64().unwrap() >= 1_536, "{made}");
    });
}

/// A photograph that begins to arrive, and never goes on.
fn half_a_photo(studio: &Studio, token: &str, number: usize) -> TcpStream {
    let mut stream = TcpStream::connect(studio.base.trim_start_matches("http://")).unwrap();
    let head = format!(
        "POST /v1/photos HTTP/1.1\r\nhost: studio\r\nauthorization: Bearer {token}\r\ncontent-type: image/jpeg\r\n\
         idempotency-key: half-{number}\r\ncontent-length: 1000\r\nexpect: 100-continue\r\n\r\n"
    );
    stream.write_all(head.as_bytes()).unwrap();
    // The program has begun with it once it asks for more.
    let mut told = [0; 12];
    stream.read_exact(&mut told).unwrap();
    assert_eq!(&told, b"HTTP/1.1 100");
    stream.write_all(&[0xff; 10]).unwrap();
    stream
}

#[test]
fn files_that_stall_stop_neither_the_shop_that_sends_them_nor_another() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let stalled: Vec<TcpStream> =
            (0..40).map(|number| half_a_photo(studio, owner.token().unwrap(), number)).collect();
        let begun = Instant::now();
        studio.stranger().post_file("/v1/photos", "image/jpeg", &jpeg(40, 30)).expect(201);
        owner.post_file("/v1/photos", "image/jpeg", &jpeg(40, 30)).expect(201);
        assert!(begun.elapsed() < Duration::from_secs(10), "{:?}", begun.elapsed());
        drop(stalled);
    });
}
