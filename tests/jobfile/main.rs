//! The job file, from outside: the real binary on real files.

mod bench;
mod good;
mod malformed;
mod round_trip;
mod saving;
mod unreadable;
