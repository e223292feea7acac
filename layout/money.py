"""Money: exact decimals in a currency of ISO 4217, rounded once where they are printed, halves up.

Minor units (decimals) by ISO 4217, from memory; the tests hold them against a reference library.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

NO_DECIMALS = ("CLP", "ISK", "JPY", "KRW", "PYG", "UGX", "VND", "XAF", "XOF")
THREE_DECIMALS = ("BHD", "JOD", "KWD", "OMR", "TND")
TWO_DECIMALS = (
    "AED", "ARS", "AUD", "BDT", "BOB", "BRL", "CAD", "CHF", "CNY", "COP", "CRC", "CZK", "DKK", "DOP", "DZD", "EGP", "EUR",
    "GBP", "GHS", "GTQ", "HKD", "HUF", "IDR", "ILS", "INR", "JMD", "KES", "KZT", "LKR", "MAD", "MXN", "MYR", "NGN", "NOK",
    "NZD", "PEN", "PHP", "PKR", "PLN", "QAR", "RON", "RSD", "RUB", "SAR", "SEK", "SGD", "THB", "TRY", "TWD", "UAH", "USD",
    "UYU", "ZAR",
)  # fmt: skip
CURRENCIES = dict.fromkeys(TWO_DECIMALS, 2) | dict.fromkeys(NO_DECIMALS, 0) | dict.fromkeys(THREE_DECIMALS, 3)
"""Currencies by their code, with their decimals."""


def rounded(amount: Decimal, currency: str) -> Decimal:
    """Return an amount to the currency's smallest unit, halves up (away from zero)."""
    return amount.quantize(Decimal(1).scaleb(-CURRENCIES[currency]), rounding=ROUND_HALF_UP)


def money_text(amount: Decimal, currency: str) -> str:
    """Return an amount as printed, ``1,234.50``: grouped by thousands, a point before the decimals, no sign of a currency."""
    return f"{rounded(amount, currency):,}"
