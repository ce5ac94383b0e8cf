//! The rules against what others have published. Each module names its source, and lists the published rows that are
//! left out with the reason beside each.

mod availability_edges;
mod totals;
mod zones;
