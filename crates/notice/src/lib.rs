//! Tells people: webhooks and mail, by who is on duty and what cannot wait.
