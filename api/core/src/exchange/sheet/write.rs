//! Writing a list.

use baywright_domain::sheet::guarded;
use csv::{Terminator, WriterBuilder};

use crate::platform::fail::{Done, Fail};

/// A list with those columns and rows: RFC 4180 in UTF-8, with a byte order mark, by which spreadsheets recognise it.
/// No cell starts a formula.
pub fn write<const N: usize>(columns: [&str; N], rows: impl Iterator<Item = [String; N]>) -> Done<String> {
    let mut writer = WriterBuilder::new().terminator(Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(columns).map_err(Fail::unexpected)?;
    for row in rows {
        writer.write_record(row.iter().map(|cell| guarded(cell).into_owned())).map_err(Fail::unexpected)?;
    }
    let bytes = writer.into_inner().map_err(Fail::unexpected)?;
    Ok("\u{feff}".to_owned() + &String::from_utf8(bytes).map_err(Fail::unexpected)?)
}

#[cfg(test)]
mod tests {
    use super::super::{Columns, read};
    use super::*;

    #[test]
    fn what_is_written_reads_back_and_starts_no_formula() {
        let rows = [["Aoife, \"the\" Byrne", "=1+1"], ["O'Brien", "two\nlines"], ["-", "'@x"]];
        let text = write(["name", "note"], rows.iter().map(|row| row.map(str::to_owned))).unwrap();
        assert!(text.starts_with("\u{feff}name,note\r\n"), "{text}");
        assert!(text.contains(",'=1+1\r\n") && text.contains("\r\n'-,''@x\r\n"), "{text}");
        let sheet = read(text.as_bytes(), Columns { known: &["name", "note"], needed: &[] }, 9).unwrap();
        for (row, said) in rows.iter().zip(&sheet.rows) {
            let cells = said.said.clone().unwrap();
            assert_eq!([cells.get("name"), cells.get("note")], row.map(Some));
        }
    }
}
