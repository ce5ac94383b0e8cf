//! Reading a list.

use csv::{ReaderBuilder, StringRecord};

use super::{CellFault, Cells, Row, Sheet};
use crate::platform::refusal::Refused;

/// The longest cell, in characters; the fields that cells are read into have shorter limits of their own.
const LONGEST: usize = 5_000;

/// The column names of a kind of list.
#[derive(Debug, Clone, Copy)]
pub struct Columns {
    /// All columns.
    pub known: &'static [&'static str],
    /// Required columns.
    pub needed: &'static [&'static str],
}

/// Reads a whole list of at most `most` rows.
pub fn read(bytes: &[u8], columns: Columns, most: usize) -> Result<Sheet, Refused> {
    let text = text(bytes)?;
    let mut reader =
        ReaderBuilder::new().delimiter(separator(text)).has_headers(false).flexible(true).from_reader(text.as_bytes());
    let mut record = StringRecord::new();
    if !next(&mut reader, &mut record)? {
        return Err(unusable(format!("The list is empty. Its first row names the columns: {}.", named(columns))));
    }
    let header = header(&record, columns)?;
    let mut rows = Vec::new();
    while next(&mut reader, &mut record)? {
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        if rows.len() == most {
            return Err(unusable(format!("The list has more than {most} rows. Send the rest as another list.")));
        }
        let line = line_of(text, &record);
        rows.push(Row { line, said: cells(&record, &header).map_err(|fault| vec![fault]) });
    }
    Ok(Sheet { rows })
}

fn unusable(detail: String) -> Refused {
    Refused::invalid("unusable-list", detail)
}

fn next(reader: &mut csv::Reader<&[u8]>, record: &mut StringRecord) -> Result<bool, Refused> {
    // The text is valid UTF-8 here and rows may differ in length, so this can't fail.
    reader.read_record(record).map_err(|error| unusable(format!("The list can't be read: {error}.")))
}

/// The file as text, without a byte order mark.
fn text(bytes: &[u8]) -> Result<&str, Refused> {
    let save = "In the spreadsheet, save it as \"CSV UTF-8\".";
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(Refused::malformed(format!("The list is encoded as UTF-16. {save}")));
    }
    if bytes.starts_with(b"PK\x03\x04") {
        return Err(Refused::malformed(format!("This is a spreadsheet file, not CSV text. {save}")));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let before = &bytes[..error.valid_up_to()];
        let line = before.split(|byte| *byte == b'\n').count();
        Refused::malformed(format!("Line {line} of the list is not UTF-8. {save}"))
    })?;
    Ok(text.trim_start_matches('\u{feff}'))
}

/// The separator: whichever of the usual ones occurs most often in the first row.
fn separator(text: &str) -> u8 {
    let first = text.trim_start().lines().next().unwrap_or_default();
    let count = |sign: u8| first.bytes().filter(|byte| *byte == sign).count();
    let usual = [b',', b';', b'\t'];
    usual.into_iter().rev().max_by_key(|sign| count(*sign)).unwrap_or(b',')
}

/// The line on which a row starts; the reader's own count points before the blank lines that it skips.
fn line_of(text: &str, record: &StringRecord) -> u64 {
    let position = record.position();
    let (line, at) = position.map_or((1, 0), |position| (position.line(), position.byte()));
    let rest = usize::try_from(at).ok().and_then(|at| text.get(at..)).unwrap_or_default();
    let blank = rest.len() - rest.trim_start_matches(['\r', '\n']).len();
    line + rest[..blank].bytes().filter(|byte| *byte == b'\n').count() as u64
}

fn named(columns: Columns) -> String {
    columns.known.join(", ")
}

/// The columns in the order in which the file has them.
fn header(record: &StringRecord, columns: Columns) -> Result<Vec<&'static str>, Refused> {
    let mut header: Vec<&'static str> = Vec::new();
    for cell in record {
        let name = cell.trim().to_lowercase().replace([' ', '-'], "_");
        let Some(known) = columns.known.iter().find(|known| **known == name) else {
            let shown: String = cell.trim().chars().take(40).collect();
            let detail = format!(
                "The column {shown:?} in the first row is not known. Rename it or remove it. Known columns: {}.",
                named(columns)
            );
            return Err(unusable(detail));
        };
        if header.contains(known) {
            return Err(unusable(format!("The column {known} appears twice. Remove one of them.")));
        }
        header.push(known);
    }
    match columns.needed.iter().find(|needed| !header.contains(needed)) {
        Some(missing) => Err(unusable(format!("The column {missing} is missing. Add it to the first row."))),
        None => Ok(header),
    }
}

fn cells(record: &StringRecord, header: &[&'static str]) -> Result<Cells, CellFault> {
    if record.len() != header.len() {
        let (has, wants) = (record.len(), header.len());
        let detail = format!(
            "This row has {has} cells, but the first row has {wants}. Put text with a separator or a line break \
             between double quotes, and close each of them."
        );
        return Err(CellFault::new("", "wrong_length", detail));
    }
    let mut cells = Cells::default();
    for (name, cell) in header.iter().zip(record) {
        if cell.chars().count() > LONGEST {
            let detail = format!("Use at most {LONGEST} characters. Look for a double quote that is not closed.");
            return Err(CellFault::new(name, "too_long", detail));
        }
        let said = baywright_domain::sheet::plain(cell.trim()).trim().replace("\r\n", "\n");
        if !said.is_empty() {
            cells.0.insert(name, said);
        }
    }
    Ok(cells)
}

#[cfg(test)]
mod tests {
    use super::*;

    const COLUMNS: Columns = Columns { known: &["name", "note", "size_class"], needed: &["name"] };

    fn lines(text: &str) -> Vec<(u64, String)> {
        let sheet = read(text.as_bytes(), COLUMNS, 10).unwrap();
        let name = |row: &Row<Cells>| match &row.said {
            Ok(cells) => cells.get("name").unwrap_or_default().to_owned(),
            Err(faults) => faults[0].code.clone(),
        };
        sheet.rows.iter().map(|row| (row.line, name(row))).collect()
    }

    fn of(name: &str) -> String {
        name.to_owned()
    }

    #[test]
    fn marks_line_ends_separators_and_blank_lines_make_no_difference() {
        let expected = [(2, of("Aoife")), (4, of("Brendan"))];
        for text in [
            "name,note\nAoife,x\n\nBrendan,y\n",
            "\u{feff}name,note\r\nAoife,x\r\n\r\nBrendan,y",
            "Name;Note\r\nAoife;x\r\n;\r\nBrendan;y\r\n",
            "NAME\tNOTE\n Aoife \tx\n\t\n\"Brendan\"\ty",
        ] {
            assert_eq!(lines(text), expected, "{text:?}");
        }
    }

    #[test]
    fn a_row_is_counted_from_the_line_on_which_it_starts() {
        let text = "name,note\n\"Aoife\",\"two\nlines\"\nBrendan,\"a, b\"\n\n\nCiara,\n";
        assert_eq!(lines(text), [(2, of("Aoife")), (4, of("Brendan")), (7, of("Ciara"))]);
    }

    #[test]
    fn a_row_of_another_length_is_refused_alone() {
        assert_eq!(
            lines("name,note\nAoife\nBrendan,x,y\nCiara,z"),
            [(2, of("wrong_length")), (3, of("wrong_length")), (4, of("Ciara"))]
        );
    }

    #[test]
    fn text_behind_an_apostrophe_is_read_as_it_was_meant() {
        assert_eq!(lines("name\n'=Aoife\n'Brendan\n"), [(2, of("=Aoife")), (3, of("'Brendan"))]);
    }

    #[test]
    fn a_list_that_cannot_be_used_says_what_to_do() {
        let told = |bytes: &[u8]| read(bytes, COLUMNS, 2).unwrap_err().detail().to_owned();
        for (bytes, part) in [
            (&b""[..], "names the columns: name, note, size_class"),
            (b"name,colour\nx,y", "\"colour\""),
            (b"name,name\nx,y", "twice"),
            (b"note\nx", "name is missing"),
            (b"name\na\nb\nc", "more than 2 rows"),
            (b"name\nAoife\nSiobh\xe1n\n", "Line 3 of the list is not UTF-8"),
            (b"\xff\xfen\0a\0", "UTF-16"),
            (b"PK\x03\x04", "spreadsheet file, not CSV"),
        ] {
            assert!(told(bytes).contains(part), "{}", told(bytes));
        }
    }

    #[test]
    fn words_and_lists_are_read_as_people_write_them() {
        let sheet = read(b"name,note,size_class\nx,\"a; b,c\n d\",extra large", COLUMNS, 2).unwrap();
        let cells = sheet.rows[0].said.clone().unwrap();
        assert_eq!(cells.word("size_class").as_deref(), Some("EXTRA_LARGE"));
        assert_eq!(cells.list("note"), ["a", "b", "c", "d"]);
    }
}
