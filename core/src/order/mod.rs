//! Which bend first, and which end leads.
