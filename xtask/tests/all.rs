//! The tasks, and the house itself: its layers hold and nothing of a machine is in it.

mod all {
    mod house;
    mod readme;
    mod text;
    mod validation;
}
