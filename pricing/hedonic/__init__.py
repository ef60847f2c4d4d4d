"""The price model: from columns of sales to a frozen PriceModel. The one place where floats are prices."""
