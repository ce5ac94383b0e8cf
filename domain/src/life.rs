//! States and moves: each record has one table of allowed moves, and any other move is an error that names state and move.
//!
//! A table may also name the moves that can be undone. The reverse of each is read from the same table, so that a move
//! and its reverse can't drift apart.

/// Gives a state its table of moves `(from, move, to)`. The state must have `fn hint(self, wanted) -> &'static str`,
/// which says what to do instead, starting with `; `, or is empty. The moves that can be undone are listed after
/// `undo`.
macro_rules! life {
    (
        $state:ident, $move:ident, $record:literal, [$(($from:ident, $do:ident, $to:ident)),+ $(,)?],
        undo [$($back:ident),+ $(,)?] $(,)?
    ) => {
        life!($state, $move, $record, [$(($from, $do, $to)),+]);

        impl $state {
            /// The moves that can be undone.
            pub const UNDO: &'static [$move] = &[$($move::$back),+];

            /// Every move that can be undone: the state after it, the move, the state before it.
            pub fn ways_back() -> impl Iterator<Item = (Self, $move, Self)> {
                let can_be_undone = |(_, done, _): &&(Self, $move, Self)| Self::UNDO.contains(done);
                Self::MOVES.iter().filter(can_be_undone).map(|(before, done, now)| (*now, *done, *before))
            }

            /// The state after a move is undone: the one before it.
            ///
            /// # Errors
            /// [`WrongState`](crate::refusal::WrongState) if the tables have no such move to undo.
            pub fn undo(self, done: $move, before: Self) -> Result<Self, crate::refusal::WrongState> {
                let found = Self::ways_back().any(|way| way == (self, done, before));
                if found { Ok(before) } else {
                    Err(crate::refusal::WrongState {
                        record: $record,
                        state: self.label(),
                        wanted: "put back",
                        hint: "",
                    })
                }
            }
        }
    };
    ($state:ident, $move:ident, $record:literal, [$(($from:ident, $do:ident, $to:ident)),+ $(,)?] $(,)?) => {
        impl $state {
            /// Every move that is allowed: from which state, by which move, to which state.
            pub const MOVES: &'static [(Self, $move, Self)] = &[$((Self::$from, $move::$do, Self::$to)),+];

            /// The state after a move.
            ///
            /// # Errors
            /// [`WrongState`](crate::refusal::WrongState) if the table has no such move.
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
