//! A new car, from the call to the quote that is sent: who called, which car, what was found on a walk round it, and the work
//! that was chosen.
//!
//! A new car has no rows of its own, and no routes: the pages under `/new-car` save each step by the use cases that the
//! API calls. This feature knows which records belong together. The enquiry comes first and names the customer and the
//! car; the walk-round is the newest inspection of the car before work, as long as it is a draft or was completed after
//! the enquiry began; the enquiry names the quote. Nothing is final until the quote is sent: sending completes the walk-round.

pub mod usecase;
