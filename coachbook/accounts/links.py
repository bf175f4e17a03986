"""Who saw the links by which accounts were opened: whoever saw one could have opened the account themselves."""

from collections.abc import Iterable

from coachbook.accounts.models import User


def link_chains(people: Iterable[User]) -> dict[int, set[int]]:
    """For each person: themselves, who saw the link to their account, who saw the link to that one's, and so on.

    By primary keys. Two people whose chains meet may be one: neither is a second person for the other.
    """
    seen_by = dict(User.objects.exclude(link_seen_by=None).values_list("pk", "link_seen_by"))
    return {person.pk: follow(person.pk, seen_by) for person in people}


def follow(first: int, seen_by: dict[int, int | None]) -> set[int]:
    """Everybody on the way from the first, once."""
    chain: set[int] = set()
    following: int | None = first
    while following is not None and following not in chain:
        chain.add(following)
        following = seen_by.get(following)
    return chain
