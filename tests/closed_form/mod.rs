//! Verification against closed forms (checks A) and of the order of convergence.
