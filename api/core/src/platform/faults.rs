//! Collects the faults of one body, so that all of them are reported and can be corrected at once.

use super::refusal::{FieldFault, Refused};

/// The faults that were found so far.
#[derive(Debug, Default)]
pub struct Faults(Vec<FieldFault>);

impl Faults {
    /// The value of a result; the faults of a refusal are collected.
    pub fn note<T>(&mut self, read: Result<T, Refused>) -> Option<T> {
        match read {
            Ok(value) => Some(value),
            Err(problem) => {
                self.0.extend_from_slice(problem.errors());
                None
            }
        }
    }

    /// The whole value if no part is missing, else an `Invalid` with every fault.
    ///
    /// # Errors
    /// `Invalid` with all faults that were kept.
    pub fn all_or<T>(self, read: Option<T>) -> Result<T, Refused> {
        match read {
            Some(value) if self.0.is_empty() => Ok(value),
            _ => {
                let details: Vec<&str> = self.0.iter().map(|fault| fault.detail.as_str()).collect();
                Err(Refused::invalid("invalid-value", details.join(" ")).with_faults(self.0))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_fault_is_told_and_without_one_the_value_is_given() {
        let mut faults = Faults::default();
        let name = faults.note(Err::<u8, _>(Refused::field("/name", "empty", "Write a name.")));
        let age = faults.note(Err::<u8, _>(Refused::field("/age", "negative", "Write an age.")));
        let problem = faults.all_or(name.zip(age)).unwrap_err();
        let pointers: Vec<&str> = problem.errors().iter().map(|fault| fault.pointer.as_str()).collect();
        assert_eq!((pointers, problem.detail()), (vec!["/name", "/age"], "Write a name. Write an age."));
        let mut none = Faults::default();
        let read = none.note(Ok(1));
        assert_eq!(none.all_or(read).ok(), Some(1));
    }
}
