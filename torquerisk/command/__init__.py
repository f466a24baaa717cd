"""The command `torquerisk`: verbs, their options, what they ask for, failures as one sentence."""
