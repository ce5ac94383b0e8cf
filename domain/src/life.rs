//! How states change: each record has one table of moves, and any other move is an error that names state and move.

/// Gives a state its table of moves `(from, move, to)`. The state must have `fn hint(self, wanted) -> &'static str`,
/// which says what to do instead, starting with `; `, or is empty.
macro_rules! life {
    ($state:ident, $move:ident, $record:literal, [$(($from:ident, $do:ident, $to:ident)),+ $(,)?]) => {
        impl $state {
            /// Every move that is allowed: from which state, by which move, to which state.
            pub const MOVES: &'static [(Self, $move, Self)] = &[$((Self::$from, $move::$do, Self::$to)),+];

            /// The state after a move.
            ///
            /// # Errors
            /// [`WrongState`](crate::refusal::WrongState) where the table has no such move.
            pub fn go(self, wanted: $move) -> Result<Self, crate::refusal::WrongState> {
                let found = Self::MOVES.iter().find(|(from, by, _)| (*from, *by) == (self, wanted));
                found.map(|(_, _, to)| *to).ok_or_else(|| crate::refusal::WrongState {
                    record: $record,
                    state: self.label(),
                    wanted: wanted.label(),
                    hint: self.hint(wanted),
                })
            }

            /// Whether the table has the move, so that a screen can leave out what would be refused.
            pub fn can(self, wanted: $move) -> bool {
                self.go(wanted).is_ok()
            }

            /// Whether no move leads on from here.
            pub fn is_end(self) -> bool {
                !Self::MOVES.iter().any(|(from, _, _)| *from == self)
            }
        }
    };
}

pub(crate) use life;
