"""A form that an outbox sends, perhaps again and again, takes effect once.

Its key stands in a header. The row of the key and what the form does are one transaction, so that the unique key
decides, and not the order in which requests come. A log is the exception: it reads much, and whoever saves elsewhere
would wait for that. Its page and count make the same save again of it, so the row of its key may follow.
"""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from functools import wraps
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.http import HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import render
from django.utils import timezone

from coachbook.http import Request, parse_key
from coachbook.outbox.models import Receipt

KEY, PERSON, AGE, PAGE = "Outbox-Key", "Outbox-Person", "Outbox-Age", "Outbox-Page"
KEPT = timedelta(days=90)  # longer than anything waits; after that its own address still tells a form that was saved
LONGEST = 60 * 24 * 3600  # seconds that a phone may say that an entry waited

View = Callable[..., HttpResponseBase]
Taker = Callable[[Request, UUID, Callable[[], HttpResponseBase]], HttpResponseBase]


def once(view: View) -> View:
    """A view whose forms an outbox may send: 201 the first time, 200 again, as JSON; all else as the view answers."""
    return answering(view, take_once)


def once_saved(view: View) -> View:
    """The same of a view that saves in transactions of its own, and does nothing new with what it saved before."""
    return answering(view, take_saved)


def answering(view: View, take: Taker) -> View:
    """A view that answers an outbox by its key."""

    @wraps(view)
    def answer(request: Request, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if is_of_another(request):
            return refuse_other(request)
        if not is_from_outbox(request):
            return view(request, *args, **kwargs)
        key = parse_key(request.headers[KEY])
        if key is None:
            return HttpResponse(status=400)
        if found := receipt_of(request, key):
            return confirm(found, 200)
        return take(request, key, lambda: view(request, *args, **kwargs))

    return answer


def is_from_outbox(request: Request) -> bool:
    """Whether a form comes from an outbox, and not from a page that shows its answer."""
    return request.method == "POST" and KEY in request.headers


def is_of_another(request: Request) -> bool:
    """Whether a form names another writer than who is signed in; every entry names one, and so does an open log."""
    writer = request.headers.get(PERSON, "" if is_from_outbox(request) else None)
    return request.method == "POST" and writer not in (None, str(request.user.key))


def refuse_other(request: Request) -> HttpResponse:
    """Nothing is saved in another person's name; an open page says so, and keeps what was typed."""
    if not request.htmx:
        return HttpResponse(status=401)
    answer = render(request, "outbox/other.html", status=401)
    answer.headers["HX-Retarget"] = "#notice"
    answer.headers["HX-Reswap"] = "innerHTML"
    return answer


def take_once(request: Request, key: UUID, view: Callable[[], HttpResponseBase]) -> HttpResponseBase:
    """What the view answers, or what it answered the first time."""
    try:
        with transaction.atomic():
            receipt = Receipt.objects.create(key=key, person=request.user, at=timezone.now())
            answer = view()
            if not is_done(answer):
                receipt.delete()  # what the view kept of it stays
                return answer
            store_outcome(receipt, answer.headers.get("Location", request.path))
    except IntegrityError:  # the same entry came twice at once: the other one was first
        if not Receipt.objects.filter(key=key).exists():
            raise
        return answer_again(request, key)
    return confirm(receipt, 201)


def take_saved(request: Request, key: UUID, view: Callable[[], HttpResponseBase]) -> HttpResponseBase:
    """What the view answers; its receipt comes after what it saved."""
    answer = view()
    if not is_done(answer):
        return answer
    try:
        with transaction.atomic():
            receipt = Receipt.objects.create(key=key, person=request.user, at=timezone.now())
            store_outcome(receipt, answer.headers.get("Location", request.path))
    except IntegrityError:
        return answer_again(request, key)
    return confirm(receipt, 201)


def answer_again(request: Request, key: UUID) -> HttpResponseBase:
    """What an entry was answered that came a second time while the first was taken; 409 for another person's key."""
    found = receipt_of(request, key)
    return confirm(found, 200) if found else HttpResponse(status=409)


def receipt_of(request: Request, key: UUID) -> Receipt | None:
    """The receipt of this person's entry with this key."""
    return Receipt.objects.filter(key=key, person=request.user).first()


def is_done(answer: HttpResponseBase) -> bool:
    """Whether a view did what was asked: it answers so, or leads on to another page."""
    return answer.status_code < 400


def store_outcome(receipt: Receipt, to: str) -> None:
    """Store where the form led; receipts that nobody can need any more go."""
    receipt.to = to[:400]
    receipt.save(update_fields=["to"])
    Receipt.objects.filter(person=receipt.person, at__lt=receipt.at - KEPT).delete()


def confirm(receipt: Receipt, status: int) -> JsonResponse:
    """The answer that lets a phone forget its copy: it names the key, which no other page does."""
    return JsonResponse({"key": str(receipt.key), "to": receipt.to}, status=status)


def confirm_page(answer: HttpResponse, page: str) -> HttpResponse:
    """The answer to an open page that saves itself and has no key: it names the page, which no other network does."""
    answer.headers[PAGE] = page
    return answer


def conflict_status(request: Request) -> int:
    """The status where two saves differ: 409 for an outbox, 422 for a page, on which somebody decides at once."""
    return 409 if is_from_outbox(request) else 422


def day_of(request: Request) -> date:
    """The academy's day on which a form was filled in, as far as a phone can say: it tells how long the form waited."""
    return request.academy.today(filled_in_at(request, timezone.now()))


def filled_in_at(request: Request, now: datetime) -> datetime:
    """The moment of the tap: only a difference of two readings of the phone's clock, so that a wrong clock is none."""
    age = request.headers.get(AGE, "") if is_from_outbox(request) else ""
    seconds = int(age) if age.isascii() and age.isdigit() and len(age) < 12 else 0
    return now - timedelta(seconds=min(seconds, LONGEST))
