"""Signing out."""

from allauth.account.views import logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse


@login_not_required
def sign_out(request: HttpRequest) -> HttpResponse:
    """Sign out by a POST, and let the browser forget what it kept of the pages (ASVS v5.0.0-14.3.1)."""
    response: HttpResponse = logout(request)
    if request.method == "POST":
        response.headers["Clear-Site-Data"] = '"cache", "storage"'
    return response
