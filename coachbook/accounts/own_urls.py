"""The addresses of a person's own account: its page, the second factor, the devices that are signed in."""

from allauth.mfa.base import views as factors
from allauth.mfa.recovery_codes import views as recovery_codes
from allauth.mfa.totp import views as totp
from allauth.mfa.webauthn import views as passkeys
from allauth.usersessions import views as devices
from django.urls import path

from coachbook.accounts.views import own as views
from coachbook.views import no_such_page

urlpatterns = [
    path("", views.account, name="account"),
    path("text/", views.text_size, name="text_size"),
    path("address/", views.address, name="address"),
    path("address/<str:token>/", views.address_confirm, name="address_confirm"),
    path("devices/", devices.list_usersessions, name="usersessions_list"),
    path("factor/", factors.index, name="mfa_index"),
    path("factor/ask/", factors.authenticate, name="mfa_authenticate"),
    path("factor/app/", totp.activate_totp, name="mfa_activate_totp"),
    path("factor/app/remove/", totp.deactivate_totp, name="mfa_deactivate_totp"),
    path("factor/passkey/", passkeys.add_webauthn, name="mfa_add_webauthn"),
    path("factor/passkey/<int:pk>/remove/", passkeys.remove_webauthn, name="mfa_remove_webauthn"),
    path("factor/codes/", recovery_codes.view_recovery_codes, name="mfa_view_recovery_codes"),
    path("factor/codes/new/", recovery_codes.generate_recovery_codes, name="mfa_generate_recovery_codes"),
    # Pages that nobody can use here; allauth asks for their addresses all the same.
    path("factor/passkeys/", no_such_page, name="mfa_list_webauthn"),
    path("factor/again/", no_such_page, name="mfa_reauthenticate"),
    path("factor/passkey/again/", no_such_page, name="mfa_reauthenticate_webauthn"),
]
