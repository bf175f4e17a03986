"""Appointments, and the calendars that show them."""

from django.apps import AppConfig


class DiaryConfig(AppConfig):
    """Its models are appointments, their series, and the links of calendar feeds."""

    name = "coachbook.diary"
