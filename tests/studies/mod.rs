//! Studies: against cases worked by hand, against trials run one by one, and golden files.

mod window;
