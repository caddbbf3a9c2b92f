//! A figure together with its formula, inputs and source.
