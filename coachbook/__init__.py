"""The site. VERSION is raised with each release; a backup holds it."""

VERSION = "1.0"
