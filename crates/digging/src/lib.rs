//! Method, section and earthwork of each stretch, and which machines to hire.
