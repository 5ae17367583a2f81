//! The plant: the car and its axle as they are, not as the controller guesses.
