//! The planner as a page sees it.
