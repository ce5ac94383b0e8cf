//! Which roles may see which page: said here a second time, by hand, so that a handler's own word is checked.

/// One line a page, in alphabetical order: its method and address, and the letters of the roles that may, in the order
/// `ODTA` (Owner, Desk, Technician, Accountant); `open` if nobody need sign in.
pub(super) const MAY: &[(&str, &str)] = &[
    ("GET /", "open"),
    ("GET /assets/{name}", "open"),
    ("GET /favicon.ico", "open"),
    ("GET /feeds/{token}.ics", "open"),
    ("GET /problems", "open"),
    ("GET /problems/{slug}", "open"),
    ("GET /q/{token}", "open"),
    ("GET /q/{token}/check", "open"),
    ("GET /q/{token}/copy.json", "open"),
    ("GET /q/{token}/decline", "open"),
    ("GET /q/{token}/done", "open"),
    ("GET /q/{token}/photos/{id}", "open"),
    ("GET /set-up", "open"),
    ("GET /shop", "OD"),
    ("GET /sign-in", "open"),
    ("POST /q/{token}/accept", "open"),
    ("POST /q/{token}/decline", "open"),
    ("POST /q/{token}/early-start", "open"),
    ("POST /q/{token}/opened", "open"),
    ("POST /set-up", "open"),
    ("POST /shop", "OD"),
    ("POST /sign-in", "open"),
    ("POST /sign-out", "ODTA"),
];
