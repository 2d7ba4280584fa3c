//! The currencies that are units, by their codes.

/// The usual codes of ISO 4217, sorted.
pub(super) const CURRENCIES: &[&str] = &[
    "AED", "ARS", "AUD", "BAM", "BDT", "BGN", "BHD", "BRL", "CAD", "CHF", "CLP", "CNY", "COP", "CRC", "CZK",
    "DKK", "DZD", "EGP", "EUR", "GBP", "GEL", "GHS", "HKD", "HUF", "IDR", "ILS", "INR", "ISK", "JOD", "JPY",
    "KES", "KRW", "KWD", "KZT", "LKR", "MAD", "MDL", "MKD", "MUR", "MXN", "MYR", "NGN", "NOK", "NPR", "NZD",
    "OMR", "PEN", "PHP", "PKR", "PLN", "PYG", "QAR", "RON", "RSD", "RUB", "SAR", "SEK", "SGD", "THB", "TND",
    "TRY", "TWD", "TZS", "UAH", "UGX", "USD", "UYU", "UZS", "VND", "XAF", "XOF", "ZAR", "ZMW",
];

/// The currency that a word names.
pub(super) fn currency(word: &str) -> Option<&'static str> {
    CURRENCIES.binary_search(&word).ok().map(|at| CURRENCIES[at])
}

/// The letters of a currency, or nothing.
pub(crate) fn currency_text(currency: [u8; 3]) -> &'static str {
    CURRENCIES.iter().find(|code| code.as_bytes() == currency).copied().unwrap_or("")
}

#[cfg(test)]
mod tests {
    use super::CURRENCIES;

    #[test]
    fn the_codes_are_sorted_and_have_three_letters() {
        assert!(CURRENCIES.windows(2).all(|pair| pair[0] < pair[1]));
        assert!(CURRENCIES.iter().all(|code| code.len() == 3));
    }
}
