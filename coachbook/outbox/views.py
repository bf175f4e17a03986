"""What an outbox asks before it sends."""

from django.http import JsonResponse
from django.middleware.csrf import get_token
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request


@require_GET
def outbox_who(request: Request) -> JsonResponse:
    """Who is signed in, and a token for their forms: an outbox sends nothing in another person's name."""
    gate.require(request, Permission.USE_SITE)
    return JsonResponse({"person": str(request.user.key), "token": get_token(request)})
