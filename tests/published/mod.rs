//! Published data: consistency and independent comparison (checks C), handbook hydraulics (checks D).
