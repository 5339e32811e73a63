//! Checks of tubewright against figures from outside: printed tables in `tests/`, one file for each source, and judges in
//! Python in `python/`. Nothing here is part of a program.
