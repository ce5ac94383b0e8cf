//! What the checks of Baywright stand on: the domain at the command line, for other programs to question.

pub mod oracle;
