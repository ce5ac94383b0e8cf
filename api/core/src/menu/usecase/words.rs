//! The words by which the menu finds people and bays: skills, and features of bays.

use std::collections::BTreeSet;

use baywright_domain::menu::{COVER, Code};

use super::draft::draft;
use super::first::first_menu;
use crate::menu::kept::StepForm;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;

/// Skills and features of bays that steps, and the waits after them, ask for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownWords {
    /// Skills of people.
    pub skills: BTreeSet<Code>,
    /// Features of bays.
    pub bay_features: BTreeSet<Code>,
}

/// The words of the steps in the draft of the menu and in the starter menu, so that a studio can say what it has before it
/// has a menu.
pub fn known_words(tx: &mut Tx<'_>) -> Done<KnownWords> {
    let mut steps = draft(tx)?.menu.steps;
    steps.extend(first_menu()?.0.steps);
    let read = |words: fn(&StepForm) -> &Vec<String>| -> Done<BTreeSet<Code>> {
        steps.iter().flat_map(words).map(|word| Ok(Code::parse(word)?)).collect()
    };
    let mut bay_features = read(|step| &step.bay_features)?;
    if steps.iter().any(|step| step.wait.as_ref().is_some_and(|wait| wait.needs_cover)) {
        bay_features.insert(Code::parse(COVER)?);
    }
    Ok(KnownWords { skills: read(|step| &step.skills)?, bay_features })
}
