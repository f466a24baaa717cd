"""An engine and a run judged: chances by limit and speed.

Here evidence keeps the simulated engines that agree with what is known, and notices say what was
assumed or held. In come a run on its grid and a policy; out comes the frozen `Assessment`."""
