"""The file of settings that `start` writes once, and that every command and every unit reads."""

import os
import secrets
from pathlib import Path

from django import forms
from django.core.validators import DomainNameValidator
from environ import Env

TEMPLATE = """\
# The settings of this site: every command and unit reads them; DEVELOPERS.md lists all. Keep a copy where the backups
# are not: without SECRET_KEY a restored second factor cannot be read.
ALLOWED_HOSTS={host}
SECRET_KEY={secret_key}
PROXY_COUNT=1
{database}
# The mail server, without which invitations reach nobody:
#EMAIL_HOST=mail.example
#EMAIL_PORT=587
#EMAIL_TLS=on
#EMAIL_USER=
#EMAIL_PASSWORD=
#EMAIL_FROM=coachbook@{host}
"""


class SiteForm(forms.Form):
    """What the site is called in the network, and where its rows lie."""

    host = forms.CharField(
        label="Name of the site in the network, such as book.example",
        validators=[DomainNameValidator(accept_idna=False, message="Type a name such as book.example, without https.")],
    )
    database = forms.CharField(label="Database", required=False)

    def clean_database(self) -> str:
        """An address of PostgreSQL; nothing for SQLite."""
        address: str = self.cleaned_data["database"].strip()
        if address and not address.startswith(("postgres://", "postgresql://")):
            raise forms.ValidationError("Type an address such as postgres:///coachbook, or leave it out for SQLite.")
        if address and not Env.db_url_config(address)["NAME"]:
            raise forms.ValidationError("The address names no database: postgres:///coachbook does.")
        return address


def write_settings(path: Path, *, host: str, database: str) -> None:
    """Write the file, readable by its owner alone, whole or not at all; never over one that is there."""
    line = f"DATABASE_URL={database}" if database else "#DATABASE_URL=postgres:///coachbook"
    text = TEMPLATE.replace("{host}", host).replace("{database}", line)
    text = text.replace("{secret_key}", secrets.token_urlsafe(50))
    unfinished = path.with_name(f".{path.name}.{os.getpid()}")
    unfinished.touch(mode=0o600)
    try:
        unfinished.write_text(text, encoding="utf-8")
        os.link(unfinished, path)  # raises FileExistsError
    finally:
        unfinished.unlink()
