//! Who is asking, and what they may do.
//!
//! Follow one request: `admit` finds the session of its cookie or the token of its header, looks up in `rights` what
//! the route asks for, and refuses what comes from another site; what was changed is noted. People and tokens stand in
//! the [`UserBook`], a file that the command line writes and that is read again when it has changed.
//!
//! While the book is empty nobody signs in: then the console is bound to this machine, and whoever sits at it acts as
//! engineer under the name they give.

mod admit;
mod attempts;
mod book;
mod desk;
mod rights;
mod role;
pub(crate) mod routes;
mod secret;
mod sessions;

pub use book::{Entry, UserBook, UserBookError};
pub use role::Role;

pub(crate) use admit::{Visitor, admit};
pub(crate) use desk::Desk;
pub(crate) use rights::note_roles;
pub(crate) use routes::routes;
