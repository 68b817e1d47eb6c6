//! A simulated booster in a simulated radio world.
