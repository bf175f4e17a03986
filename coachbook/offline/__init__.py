"""What opens without a network: the service worker, the empty page that it shows, and what a phone keeps to fill it."""
