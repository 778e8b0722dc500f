//! The examples are beside this file.
