"""An engine and a run judged: chances by limit and speed.

Here limits meet the engines that evidence has kept, and notices say what was assumed or held. In
come a run on its grid and a policy; out comes the frozen `Assessment`."""
