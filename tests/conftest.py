"""Models fitted once for each process, because a fit takes about a second."""

from __future__ import annotations

import pytest

from data.demo.generate import DemoData, generate
from pricing.hedonic.fit import fit_model
from pricing.hedonic.model import PriceModel
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.market import small_sales

PHONES = 800


@pytest.fixture(scope="session")
def sales() -> SalesTable:
    """Sales of the small class."""
    return small_sales()


@pytest.fixture(scope="session")
def model(sales: SalesTable) -> PriceModel:
    """The model of those sales."""
    return fit_model(sales, small_class())


@pytest.fixture(scope="session")
def phones() -> DemoData:
    """Sales of demo phones with their truth."""
    return generate(1, rows={"phone": PHONES})


@pytest.fixture(scope="session")
def phone_model(phones: DemoData) -> PriceModel:
    """The model of the demo phones."""
    return fit_model(phones.tables["phone"], phones.device_classes["phone"])
