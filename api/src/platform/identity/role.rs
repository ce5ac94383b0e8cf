//! x
/// role
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// a
    Owner,
    /// a
    Desk,
    /// a
    Technician,
    /// a
    Accountant,
}
impl Role {
    /// a
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Owner => "OWNER",
            Self::Desk => "DESK",
            Self::Technician => "TECHNICIAN",
            Self::Accountant => "ACCOUNTANT",
        }
    }
    /// a
    pub fn parse(s: &str) -> Option<Self> {
        [Self::Owner, Self::Desk, Self::Technician, Self::Accountant].into_iter().find(|r| r.as_str() == s)
    }
}
