//! Python extension of truebed.
