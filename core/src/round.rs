//! The one place where figures are rounded for people.
