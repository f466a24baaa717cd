"""What the parts can carry, never seeing torque.

Here live the head joint and the running gear of every simulated engine. In come an engine and the
draws; out come `Parts`, arrays over draws."""
