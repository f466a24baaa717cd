"""The run as it really was.

Here the dyno's figure becomes crank torque, and the engine's state is told speed by speed. In come
an engine and a run; out comes a run on its grid, with the spread of the reading."""
