//! Forms with a file, as browsers send them: `multipart/form-data` (RFC 7578) with one part for each field.

use actix_web::web::Bytes;

/// Maximum number of fields of a form.
const MOST_FIELDS: usize = 1000;

/// Maximum size of all fields but the file, in bytes.
pub(super) const FIELD_BYTES: usize = 256 << 10;

/// The parts of a form.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Parts {
    /// Name and value of each field that is no file, in order.
    pub(super) fields: Vec<(String, String)>,
    /// The file, if one was chosen.
    pub(super) file: Option<FilePart>,
}

/// A file of a form.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct FilePart {
    /// Media type that the browser gives it, in lower case.
    pub(super) media_type: String,
    /// The file.
    pub(super) bytes: Bytes,
}

/// The text between the parts, if a media type is that of a form with a file.
pub(super) fn boundary(content_type: &str) -> Option<String> {
    let mut words = content_type.split(';').map(str::trim);
    if !words.next()?.eq_ignore_ascii_case("multipart/form-data") {
        return None;
    }
    let named = words.find_map(|word| word.strip_prefix("boundary="))?;
    let plain = named.trim_matches('"');
    // RFC 2046, section 5.1.1.
    (1..=70).contains(&plain.len()).then(|| plain.to_owned())
}

/// The parts of a body, or `None` if it is no such form, breaks off, or has several files or too much text.
pub(super) fn parts(body: &Bytes, boundary: &str) -> Option<Parts> {
    let delimiter = format!("--{boundary}");
    let next = format!("\r\n{delimiter}");
    let mut parts = Parts::default();
    let mut at = if body.starts_with(delimiter.as_bytes()) {
        delimiter.len()
    } else {
        find(body, 0, next.as_bytes())? + next.len()
    };
    let mut text = 0;
    while !body.get(at..)?.starts_with(b"--") {
        let head = find(body, at, b"\r\n")? + 2;
        let end_of_head = find(body, head, b"\r\n\r\n")?;
        let content = end_of_head + 4;
        let end = find(body, content, next.as_bytes())?;
        at = end + next.len();
        let part = Head::of(std::str::from_utf8(body.get(head..end_of_head)?).ok()?)?;
        if part.is_file {
            // A field in which no file was chosen comes as an empty one.
            if end > content {
                let file = FilePart { media_type: part.media_type, bytes: body.slice(content..end) };
                if parts.file.replace(file).is_some() {
                    return None;
                }
            }
            continue;
        }
        text += end - content;
        if text > FIELD_BYTES || parts.fields.len() == MOST_FIELDS {
            return None;
        }
        parts.fields.push((part.name, std::str::from_utf8(body.get(content..end)?).ok()?.to_owned()));
    }
    Some(parts)
}

/// What the lines above a part say about it.
struct Head {
    name: String,
    is_file: bool,
    media_type: String,
}

impl Head {
    fn of(lines: &str) -> Option<Self> {
        let mut head = Self { name: String::new(), is_file: false, media_type: String::new() };
        for line in lines.split("\r\n") {
            let (header, value) = line.split_once(':')?;
            if header.eq_ignore_ascii_case("content-type") {
                head.media_type = value.split(';').next().unwrap_or_default().trim().to_ascii_lowercase();
            } else if header.eq_ignore_ascii_case("content-disposition") {
                let mut words = value.split(';').map(str::trim);
                if !words.next()?.eq_ignore_ascii_case("form-data") {
                    return None;
                }
                for word in words {
                    match word.split_once('=') {
                        Some(("name", name)) if head.name.is_empty() => {
                            name.trim_matches('"').clone_into(&mut head.name);
                        }
                        Some(("filename" | "filename*", _)) => head.is_file = true,
                        _ => {}
                    }
                }
            }
        }
        (!head.name.is_empty()).then_some(head)
    }
}

/// The first place of some bytes, from `from` on.
fn find(body: &[u8], from: usize, wanted: &[u8]) -> Option<usize> {
    let first = *wanted.first()?;
    let mut at = from;
    loop {
        at += body.get(at..)?.iter().position(|byte| *byte == first)?;
        if body.get(at..)?.starts_with(wanted) {
            return Some(at);
        }
        at += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(body: &str) -> Option<Parts> {
        parts(&Bytes::from(body.replace('\n', "\r\n")), "x1")
    }

    const NOTE: &str = "--x1\nContent-Disposition: form-data; name=\"note\"\n\nleft: 12 cm\nfelt\n";

    fn photo(name: &str, bytes: &str) -> String {
        let head = format!("Content-Disposition: form-data; name=\"photo\"; filename=\"{name}\"");
        format!("--x1\n{head}\nContent-Type: image/JPEG\n\n{bytes}\n")
    }

    #[test]
    fn fields_and_a_file_are_read_as_they_were_sent() {
        let read = read(&format!("{NOTE}{}--x1--\n", photo("a; name=\"b\".jpg", "\u{0}--x\n--x\n"))).unwrap();
        assert_eq!(read.fields, [("note".to_owned(), "left: 12 cm\r\nfelt".to_owned())]);
        let bytes = Bytes::from_static(b"\0--x\r\n--x\r\n");
        assert_eq!(read.file, Some(FilePart { media_type: "image/jpeg".to_owned(), bytes }));
    }

    #[test]
    fn no_file_is_none_and_an_empty_field_stays() {
        let empty = "--x1\nContent-Disposition: form-data; name=\"kind\"\n\n\n";
        let read = read(&format!("{empty}{}--x1--", photo("", ""))).unwrap();
        assert_eq!((read.fields, read.file), (vec![("kind".to_owned(), String::new())], None));
    }

    #[test]
    fn what_breaks_off_or_has_two_files_is_refused() {
        let two = format!("{}{}--x1--", photo("a", "1"), photo("b", "2"));
        for bad in ["", "note=1", NOTE, "--x1\n--x1--", "--x1\nno head\n\n1\n--x1--", &two] {
            assert_eq!(read(bad), None, "{bad}");
        }
        assert_eq!(boundary("multipart/form-data; charset=utf-8; boundary=\"a b\""), Some("a b".to_owned()));
        assert_eq!(boundary("application/x-www-form-urlencoded; boundary=x"), None);
        assert_eq!(boundary("multipart/form-data; boundary="), None);
    }
}
