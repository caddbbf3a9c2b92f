//! Stretches of trench, what lies in each, and the proven gap.
