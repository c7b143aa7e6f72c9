//! What a recipe reads: each paper of a supplier has a recipe of its own.

use super::Field;

/// What a recipe reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Purpose {
    /// A price list.
    #[default]
    Prices,
    /// What came, as the supplier notes it.
    Delivery,
    /// What the supplier says to an order.
    Confirmation,
}

impl Purpose {
    /// All of them.
    pub const ALL: [Purpose; 3] = [Purpose::Prices, Purpose::Delivery, Purpose::Confirmation];

    /// What it reads, in the plural.
    pub fn papers(self) -> &'static str {
        match self {
            Purpose::Prices => "price lists",
            Purpose::Delivery => "delivery notes",
            Purpose::Confirmation => "order confirmations",
        }
    }

    /// What stands in the name of the file, between the supplier and `.toml`.
    pub(super) fn mark(self) -> &'static str {
        match self {
            Purpose::Prices => "",
            Purpose::Delivery => ".delivery",
            Purpose::Confirmation => ".confirmation",
        }
    }

    /// True for a price list: it has prices from quantities on, and says what is sold.
    pub fn is_price_list(self) -> bool {
        self == Purpose::Prices
    }

    /// True where prices, days and currencies are read.
    pub fn has_prices(self) -> bool {
        self != Purpose::Delivery
    }

    /// True if such a paper can have a column for this.
    pub fn takes(self, field: Field) -> bool {
        match field {
            Field::Article | Field::Part | Field::Description => true,
            Field::Quantity | Field::Pack => true,
            Field::Price | Field::Per | Field::Discount => self.has_prices(),
            Field::Currency | Field::Lead | Field::Date => self.has_prices(),
            Field::Type | Field::Least | Field::Stock => self.is_price_list(),
        }
    }
}
