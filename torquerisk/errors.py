"""The errors that torquerisk raises on purpose: each carries one clear sentence."""


class TorqueRiskError(Exception):
    """Base of every error raised on purpose."""

    @property
    def sentence(self) -> str:
        """The sentence with the values in it, which a string of the error no longer has."""
        return str(self) if not self.args else self.args[0]


class InputError(TorqueRiskError, ValueError):
    """An input cannot be used: says which, what was given, what is allowed, what to do."""


class OutOfRangeError(InputError):
    """An argument lies outside the range in which a formula holds."""

    def __init__(self, argument: str, given: object, allowed: str, advice: str = "") -> None:
        sentence = f"{argument} is {given}, but must be {allowed}."
        super().__init__(f"{sentence} {advice}".rstrip())


class InfeasibleError(InputError):
    """An ask cannot be met by any table: says which constraint cannot hold."""
