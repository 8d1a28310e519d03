"""Country codes of ISO 3166-1: which there are, and which one somebody meant."""

from __future__ import annotations

import difflib
import unicodedata
from functools import cache

_TABLE = """
AD AND Andorra
AE ARE United Arab Emirates
AF AFG Afghanistan
AG ATG Antigua and Barbuda
AI AIA Anguilla
AL ALB Albania
AM ARM Armenia
AO AGO Angola
AQ ATA Antarctica
AR ARG Argentina
AS ASM American Samoa
AT AUT Austria
AU AUS Australia
AW ABW Aruba
AX ALA Åland Islands
AZ AZE Azerbaijan
BA BIH Bosnia and Herzegovina
BB BRB Barbados
BD BGD Bangladesh
BE BEL Belgium
BF BFA Burkina Faso
BG BGR Bulgaria
BH BHR Bahrain
BI BDI Burundi
BJ BEN Benin
BL BLM Saint Barthélemy
BM BMU Bermuda
BN BRN Brunei
BO BOL Bolivia
BQ BES Caribbean Netherlands
BR BRA Brazil
BS BHS Bahamas
BT BTN Bhutan
BV BVT Bouvet Island
BW BWA Botswana
BY BLR Belarus
BZ BLZ Belize
CA CAN Canada
CC CCK Cocos (Keeling) Islands
CD COD Democratic Republic of the Congo
CF CAF Central African Republic
CG COG Congo
CH CHE Switzerland
CI CIV Côte d'Ivoire
CK COK Cook Islands
CL CHL Chile
CM CMR Cameroon
CN CHN China
CO COL Colombia
CR CRI Costa Rica
CU CUB Cuba
CV CPV Cabo Verde
CW CUW Curaçao
CX CXR Christmas Island
CY CYP Cyprus
CZ CZE Czechia
DE DEU Germany
DJ DJI Djibouti
DK DNK Denmark
DM DMA Dominica
DO DOM Dominican Republic
DZ DZA Algeria
EC ECU Ecuador
EE EST Estonia
EG EGY Egypt
EH ESH Western Sahara
ER ERI Eritrea
ES ESP Spain
ET ETH Ethiopia
FI FIN Finland
FJ FJI Fiji
FK FLK Falkland Islands
FM FSM Micronesia
FO FRO Faroe Islands
FR FRA France
GA GAB Gabon
GB GBR Great Britain
GD GRD Grenada
GE GEO Georgia
GF GUF French Guiana
GG GGY Guernsey
GH GHA Ghana
GI GIB Gibraltar
GL GRL Greenland
GM GMB Gambia
GN GIN Guinea
GP GLP Guadeloupe
GQ GNQ Equatorial Guinea
GR GRC Greece
GS SGS South Georgia and the South Sandwich Islands
GT GTM Guatemala
GU GUM Guam
GW GNB Guinea-Bissau
GY GUY Guyana
HK HKG Hong Kong
HM HMD Heard Island and McDonald Islands
HN HND Honduras
HR HRV Croatia
HT HTI Haiti
HU HUN Hungary
ID IDN Indonesia
IE IRL Ireland
IL ISR Israel
IM IMN Isle of Man
IN IND India
IO IOT British Indian Ocean Territory
IQ IRQ Iraq
IR IRN Iran
IS ISL Iceland
IT ITA Italy
JE JEY Jersey
JM JAM Jamaica
JO JOR Jordan
JP JPN Japan
KE KEN Kenya
KG KGZ Kyrgyzstan
KH KHM Cambodia
KI KIR Kiribati
KM COM Comoros
KN KNA Saint Kitts and Nevis
KP PRK North Korea
KR KOR South Korea
KW KWT Kuwait
KY CYM Cayman Islands
KZ KAZ Kazakhstan
LA LAO Laos
LB LBN Lebanon
LC LCA Saint Lucia
LI LIE Liechtenstein
LK LKA Sri Lanka
LR LBR Liberia
LS LSO Lesotho
LT LTU Lithuania
LU LUX Luxembourg
LV LVA Latvia
LY LBY Libya
MA MAR Morocco
MC MCO Monaco
MD MDA Moldova
ME MNE Montenegro
MF MAF Saint Martin
MG MDG Madagascar
MH MHL Marshall Islands
MK MKD North Macedonia
ML MLI Mali
MM MMR Myanmar
MN MNG Mongolia
MO MAC Macao
MP MNP Northern Mariana Islands
MQ MTQ Martinique
MR MRT Mauritania
MS MSR Montserrat
MT MLT Malta
MU MUS Mauritius
MV MDV Maldives
MW MWI Malawi
MX MEX Mexico
MY MYS Malaysia
MZ MOZ Mozambique
NA NAM Namibia
NC NCL New Caledonia
NE NER Niger
NF NFK Norfolk Island
NG NGA Nigeria
NI NIC Nicaragua
NL NLD Netherlands
NO NOR Norway
NP NPL Nepal
NR NRU Nauru
NU NIU Niue
NZ NZL New Zealand
OM OMN Oman
PA PAN Panama
PE PER Peru
PF PYF French Polynesia
PG PNG Papua New Guinea
PH PHL Philippines
PK PAK Pakistan
PL POL Poland
PM SPM Saint Pierre and Miquelon
PN PCN Pitcairn
PR PRI Puerto Rico
PS PSE Palestine
PT PRT Portugal
PW PLW Palau
PY PRY Paraguay
QA QAT Qatar
RE REU Réunion
RO ROU Romania
RS SRB Serbia
RU RUS Russia
RW RWA Rwanda
SA SAU Saudi Arabia
SB SLB Solomon Islands
SC SYC Seychelles
SD SDN Sudan
SE SWE Sweden
SG SGP Singapore
SH SHN Saint Helena
SI SVN Slovenia
SJ SJM Svalbard and Jan Mayen
SK SVK Slovakia
SL SLE Sierra Leone
SM SMR San Marino
SN SEN Senegal
SO SOM Somalia
SR SUR Suriname
SS SSD South Sudan
ST STP São Tomé and Príncipe
SV SLV El Salvador
SX SXM Sint Maarten
SY SYR Syria
SZ SWZ Eswatini
TC TCA Turks and Caicos Islands
TD TCD Chad
TF ATF French Southern Territories
TG TGO Togo
TH THA Thailand
TJ TJK Tajikistan
TK TKL Tokelau
TL TLS Timor-Leste
TM TKM Turkmenistan
TN TUN Tunisia
TO TON Tonga
TR TUR Türkiye
TT TTO Trinidad and Tobago
TV TUV Tuvalu
TW TWN Taiwan
TZ TZA Tanzania
UA UKR Ukraine
UG UGA Uganda
UM UMI United States Minor Outlying Islands
US USA United States
UY URY Uruguay
UZ UZB Uzbekistan
VA VAT Vatican City
VC VCT Saint Vincent
VE VEN Venezuela
VG VGB British Virgin Islands
VI VIR United States Virgin Islands
VN VNM Vietnam
VU VUT Vanuatu
WF WLF Wallis and Futuna
WS WSM Samoa
YE YEM Yemen
YT MYT Mayotte
ZA ZAF South Africa
ZM ZMB Zambia
ZW ZWE Zimbabwe
"""
"""Two letters, three letters and the short name; source: ISO 3166-1."""

_SLIPS = {
    "UK": "GB",
    "EN": "GB",
    "EL": "GR",
    "SW": "SE",
    "JA": "JP",
    "DA": "DK",
    "CS": "CZ",
    "SP": "ES",
    "OE": "AT",
    "HO": "NL",
    "DU": "NL",
    "SU": "FI",
    "EI": "IE",
}
"""Letters that stand for a country elsewhere: a language, a car, a treaty, a habit."""

_NAMES = {
    "america": "US",
    "usa": "US",
    "united states of america": "US",
    "united kingdom": "GB",
    "britain": "GB",
    "england": "GB",
    "scotland": "GB",
    "wales": "GB",
    "northern ireland": "GB",
    "eire": "IE",
    "republic of ireland": "IE",
    "holland": "NL",
    "nederland": "NL",
    "the netherlands": "NL",
    "deutschland": "DE",
    "osterreich": "AT",
    "oesterreich": "AT",
    "schweiz": "CH",
    "suisse": "CH",
    "svizzera": "CH",
    "belgie": "BE",
    "belgique": "BE",
    "espana": "ES",
    "italia": "IT",
    "danmark": "DK",
    "sverige": "SE",
    "norge": "NO",
    "suomi": "FI",
    "island": "IS",
    "polska": "PL",
    "cesko": "CZ",
    "czech republic": "CZ",
    "slovensko": "SK",
    "slovenija": "SI",
    "hrvatska": "HR",
    "magyarorszag": "HU",
    "eesti": "EE",
    "latvija": "LV",
    "lietuva": "LT",
    "hellas": "GR",
    "kypros": "CY",
    "brasil": "BR",
    "nippon": "JP",
    "nihon": "JP",
    "korea": "KR",
    "turkey": "TR",
    "hong kong": "HK",
    "aotearoa": "NZ",
}
"""Other names in use, without accents: what people type where two letters are wanted."""


@cache
def names() -> dict[str, str]:
    """The short name of every country, by its two letters.

    >>> names()["NZ"], len(names())
    ('New Zealand', 249)
    """
    return {row[:2]: row[7:] for row in _TABLE.strip().splitlines()}


def known(code: str) -> bool:
    """Whether these are the two letters of a country, in either case."""
    return code.strip().upper() in names()


def meant(text: str) -> tuple[str, ...]:
    """The codes that were most likely meant, the likeliest first; empty where nothing is near.

    >>> meant("UK"), meant("el"), meant("Deutschland"), meant("Germny"), meant("Atlantis")
    (('GB',), ('GR',), ('DE',), ('DE',), ())
    """
    typed = _plain(text[:60])
    if len(typed) == 2:
        return _two_letters(typed)
    exact = _by_name().get(typed)
    if exact is not None:
        return (exact,)
    near = difflib.get_close_matches(typed, _by_name(), 1, 0.8)
    return tuple(_by_name()[name] for name in near)


def what_to_write(text: str) -> str:
    """What to write instead of a text that is no country's code.

    >>> what_to_write("UK")
    'write GB for Great Britain'
    """
    codes = meant(text)
    if not codes:
        return 'write its two letters, like "GB"'
    return "write " + " or ".join(f"{code} for {names()[code]}" for code in codes)


def _two_letters(typed: str) -> tuple[str, ...]:
    """A known slip, else the countries whose names begin so, at most three."""
    slip = _SLIPS.get(typed.upper())
    if slip is not None:
        return (slip,)
    return tuple(code for code, name in names().items() if _plain(name).startswith(typed))[:3]


@cache
def _by_name() -> dict[str, str]:
    """Codes by every plain name and by the three letters."""
    threes = {row[3:6].lower(): row[:2] for row in _TABLE.strip().splitlines()}
    return {_plain(name): code for code, name in names().items()} | threes | _NAMES


def _plain(text: str) -> str:
    """The text in small letters, without accents, dots and doubled blanks."""
    apart = unicodedata.normalize("NFKD", text.casefold()).replace(".", "")
    bare = "".join(char for char in apart if not unicodedata.combining(char))
    return " ".join(bare.replace("ø", "o").replace("ß", "ss").split())
