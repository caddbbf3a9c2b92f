//! The job: survey, system, practice and price book, read from a file and checked.
