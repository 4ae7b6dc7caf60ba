"""Accounts, sign-in and pairing."""
