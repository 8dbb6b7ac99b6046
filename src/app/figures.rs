//! The figures as the window draws them.
