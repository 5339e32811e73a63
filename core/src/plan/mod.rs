//! The plan: everything that is known of how a job is bent.
