//! Cost lines and the price, to the cent.
