"""The case that the page opens with, worked out before anybody asks for it."""

from torquerisk.errors import InputError
from torquerisk.show.page import case_in
from torquerisk.show.page.desk import Desk
from torquerisk.show.page.policy_in import sample_policy
from torquerisk.show.page.result import assessments, cases
from torquerisk.show.page.work import assessed


def work_out() -> None:
    """The first case's assessment; what cannot be read is said by the page."""
    try:
        source = case_in.first_source()
        if source is None:
            return
        desk = Desk(source=source)
        case = cases().get(source.digest, lambda: case_in.read_case(source))
        assessments().get(desk.key, lambda: assessed(case, (), sample_policy(desk.sample)))
    except InputError:
        return
