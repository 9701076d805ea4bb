//! The cautions, as the screen shows them.

/// What everybody who uses the program should have read once, by paragraphs.
pub const CAUTIONS: [&str; 4] = [
    "Dioptray helps to learn refraction and to keep a record of it. It is not a medical device and does not diagnose.",
    "Refer, and do not only refract, when there is sudden loss of sight, pain, flashes or floaters, double vision, an \
     acuity that a pinhole does not improve, or a child whose eyes turn.",
    "Children and young long-sighted people may need drops (cycloplegia): without them they come out with too much \
     minus.",
    "The prescription is the responsibility of a person licensed to give it under the rules of the place.",
];
