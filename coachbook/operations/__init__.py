"""How the site is started, watched, kept safe and moved; with samples of units and of a proxy that log no secrets."""
