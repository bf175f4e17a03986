"""What changed in how a person signs in."""

from django.db import models

from coachbook.accounts.models.people import User


class SignInChange(models.Model):
    """A changed password, address or second factor; kept so that its owner sees it, also without an e-mail address."""

    class What(models.TextChoices):
        PASSWORD = "password", "Your password was changed"
        EMAIL = "email", "The e-mail address of your account was changed"
        FACTOR_ADDED = "added", "A second factor was added"
        FACTOR_REMOVED = "removed", "A second factor was removed"
        FACTOR_RESET = "reset", "Your second factor was reset by whoever runs the server"

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="sign_in_changes")
    what = models.CharField(max_length=8, choices=What)
    at = models.DateTimeField()
    shown_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.get_what_display()
