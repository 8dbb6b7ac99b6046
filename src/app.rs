//! The window: figures and their look.

pub mod figures;
pub mod theme;
