"""Samples for whoever serves the site: a proxy and a server that log neither tokens nor search words."""
