"""Signing out."""

from allauth.account.views import logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse


@login_not_required
def sign_out(request: HttpRequest) -> HttpResponse:
    """Sign out by a POST, and let the browser forget what it kept of the pages (ASVS v5.0.0-14.3.1).

    What another person wrote on the same phone and could not send yet is not this person's to delete: where the page
    says that there is such, it has deleted this person's own, and the storage stays.
    """
    response: HttpResponse = logout(request)
    if request.method == "POST":
        response.headers["Clear-Site-Data"] = '"cache"' if request.POST.get("others") else '"cache", "storage"'
    return response
