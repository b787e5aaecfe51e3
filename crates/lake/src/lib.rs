//! An object store shared by many plants: what is sealed is copied there, once, and verified.
