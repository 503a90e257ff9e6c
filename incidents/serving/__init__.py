"""Serving over https on a local network, where a phone must be able to trust us."""
