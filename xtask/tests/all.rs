//! The tasks, and the house itself: its layers hold and nothing of a machine is in it.

mod all {
    mod coverage;
    mod house;
    mod mutation;
    mod readme;
    mod requirements;
    mod text;
    mod validation;
}
