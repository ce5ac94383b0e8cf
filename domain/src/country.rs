//! Countries by their code of ISO 3166-1.

use alloc::string::String;
use core::fmt;

use crate::refusal::{Kind, Refusal};

/// A country's two-letter code (ISO 3166-1 alpha-2), upper case, officially assigned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Country([u8; 2]);

/// Text that is no country's code.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is no country code: use two letters of ISO 3166-1, such as IE")]
pub struct UnknownCountry(
    /// The given text, cut to 10 characters.
    pub String,
);

impl Refusal for UnknownCountry {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "unknown-country"
    }
}

/// The officially assigned codes of ISO 3166-1, in order.
const ASSIGNED: &str = "AD AE AF AG AI AL AM AO AQ AR AS AT AU AW AX AZ BA BB BD BE BF BG BH BI BJ BL BM BN BO BQ BR BS BT BV \
     BW BY BZ CA CC CD CF CG CH CI CK CL CM CN CO CR CU CV CW CX CY CZ DE DJ DK DM DO DZ EC EE EG EH ER ES \
     ET FI FJ FK FM FO FR GA GB GD GE GF GG GH GI GL GM GN GP GQ GR GS GT GU GW GY HK HM HN HR HT HU ID IE \
     IL IM IN IO IQ IR IS IT JE JM JO JP KE KG KH KI KM KN KP KR KW KY KZ LA LB LC LI LK LR LS LT LU LV LY \
     MA MC MD ME MF MG MH MK ML MM MN MO MP MQ MR MS MT MU MV MW MX MY MZ NA NC NE NF NG NI NL NO NP NR NU \
     NZ OM PA PE PF PG PH PK PL PM PN PR PS PT PW PY QA RE RO RS RU RW SA SB SC SD SE SG SH SI SJ SK SL SM \
     SN SO SR SS ST SV SX SY SZ TC TD TF TG TH TJ TK TL TM TN TO TR TT TV TW TZ UA UG UM US UY UZ VA VC VE \
     VG VI VN VU WF WS YE YT ZA ZM ZW";

impl Country {
    /// Reads a code; lower case is read as upper.
    ///
    /// # Errors
    /// [`UnknownCountry`] if no country has it.
    pub fn parse(text: &str) -> Result<Self, UnknownCountry> {
        let unknown = || UnknownCountry(text.chars().take(10).collect());
        let code: [u8; 2] = text.as_bytes().try_into().map_err(|_| unknown())?;
        let code = Self(code.map(|letter| letter.to_ascii_uppercase()));
        Self::all().find(|known| *known == code).ok_or_else(unknown)
    }

    /// Every country, in the order of the codes.
    pub fn all() -> impl Iterator<Item = Self> {
        ASSIGNED.split(' ').filter_map(|code| code.as_bytes().try_into().ok()).map(Self)
    }

    /// The code.
    pub fn code(&self) -> &str {
        // Made from letters of `ASSIGNED` only, so it is text.
        core::str::from_utf8(&self.0).unwrap_or_default()
    }
}

impl fmt::Display for Country {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_read_in_either_case_and_others_are_refused() {
        assert_eq!(Country::parse("ie").map(|c| String::from(c.code())), Ok("IE".into()));
        // EL and XI are codes of tax numbers, UK is reserved: none of them is assigned.
        for text in ["EL", "XI", "UK", "", "I", "IRL", "\u{e9}", "ZZ"] {
            assert!(Country::parse(text).is_err(), "{text}");
        }
    }
}
