"""Which currencies are there, and how many decimals does each count in?

ISO 4217 list one as published on 2026-01-01, and the currencies withdrawn since 1990 that an older invoice may carry.
How amounts are printed is for the pages: CLDR prints some currencies with fewer decimals than ISO counts in.
"""

from __future__ import annotations

USUAL_DIGITS = 2
"Decimals of most currencies."

OTHER_DIGITS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
"ISO 4217 list one, 2026-01-01: the currencies with other than two decimals."

CURRENT = frozenset(
    """
    AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BHD BIF BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE CHF CHW
    CLF CLP CNY COP COU CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL
    HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA
    MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD
    RUB RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD
    USN UYI UYU UYW UZS VED VES VND VUV WST XAD XAF XCD XCG XOF XPF YER ZAR ZMW ZWG
    """.split()
)
"ISO 4217 list one, 2026-01-01, without the codes that have no minor unit: metals, units of account, tests."

WITHDRAWN_DIGITS = {
    0: "BYR ESP ITL LUF MRO TRL",
    2: """
       ANG ATS AZM BEF BGL BGN BYB CUC CYP CSD DEM EEK FIM FRF GHC GRD HRK IEP LTL LVL MTL MZM NLG PTE ROL RUR SDD SIT
       SKK SLL SRG STD TMM VEB VEF YUM ZMK ZWL
       """,
}
"Withdrawn since 1990. The decimals are those that its invoices show; two where no source says otherwise."

_WITHDRAWN = {code: digits for digits, codes in WITHDRAWN_DIGITS.items() for code in codes.split()}
_DIGITS = _WITHDRAWN | {code: digits for digits, codes in OTHER_DIGITS.items() for code in codes.split()}

CURRENCIES = CURRENT | _WITHDRAWN.keys()
"Every code that an order may carry."


def is_currency(code: str) -> bool:
    """Whether ISO 4217 gives or gave the three letters to a currency that can be paid with."""
    return code in CURRENCIES


def minor_digits(currency: str) -> int:
    """Decimals of a currency's smallest unit; of an unknown one, two."""
    return _DIGITS.get(currency, USUAL_DIGITS)
