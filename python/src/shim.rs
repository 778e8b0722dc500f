//! The shims in the van.

use pyo3::prelude::*;
use pyo3::types::{PyMapping, PyString};

use crate::error::{Problems, Refused, shown};
use crate::value::{length, whole};

const COUNT: &str = "None or a whole number of pieces from 0 to 4294967295";
const PRICE: &str = "a whole number from 0 to 4294967295";

/// One kind of shim: the thickness of a piece (mm, or a text with a unit), the count on hand
/// (None for as many as it takes), and the price or weight of a piece in whole units (cents,
/// grams), which the order "cheapest" adds up.
#[pyclass(frozen, eq, hash, module = "truebed")]
#[derive(PartialEq, Eq, Hash)]
pub(crate) struct Shim {
    thickness: truebed::Length,
    count: Option<u32>,
    price: u32,
}

#[pymethods]
impl Shim {
    #[new]
    #[pyo3(signature = (thickness, count = None, price = None))]
    fn new(
        thickness: &Bound<'_, PyAny>,
        count: Option<&Bound<'_, PyAny>>,
        price: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let mut found = Problems::default();
        let name = || format!("Shim({})", shown(thickness));
        let shim = read(&mut found, name, thickness, count, price);
        let shim = found.finish(thickness.py(), shim)?;
        Ok(Self { thickness: shim.thickness, count: shim.count, price: shim.price })
    }

    /// Thickness of one piece, mm.
    #[getter]
    fn thickness(&self) -> f64 {
        self.thickness.mm()
    }

    /// Pieces on hand; None for as many as it takes.
    #[getter]
    fn count(&self) -> Option<u32> {
        self.count
    }

    /// Price or weight of one piece, whole units.
    #[getter]
    fn price(&self) -> u32 {
        self.price
    }

    fn __repr__(&self) -> String {
        let count = self.count.map_or_else(|| "None".to_owned(), |count| count.to_string());
        format!("Shim(thickness={}, count={count}, price={})", self.thickness.mm(), self.price)
    }

    fn __getnewargs__(&self) -> (f64, Option<u32>, u32) {
        (self.thickness.mm(), self.count, self.price)
    }
}

fn read(
    found: &mut Problems,
    name: impl Fn() -> String,
    thickness: &Bound<'_, PyAny>,
    count: Option<&Bound<'_, PyAny>>,
    price: Option<&Bound<'_, PyAny>>,
) -> Option<truebed::Shim> {
    let field = |field: &str| format!("{}.{field}", name());
    let thickness = found.take(|| field("thickness"), length(thickness));
    let count = count.map(|count| whole(count, COUNT)).transpose();
    let count = found.take(|| field("count"), count);
    let price = price.map_or(Ok(0), |price| whole(price, PRICE));
    let price = found.take(|| field("price"), price);
    let mut shim = truebed::Shim::new(thickness?, count?);
    shim.price = price?;
    Some(shim)
}

/// A stock: a mapping from thickness to count, or shims one by one.
pub(crate) fn stock(
    found: &mut Problems,
    stock: &Bound<'_, PyAny>,
) -> PyResult<Option<Vec<truebed::Shim>>> {
    if let Ok(stock) = stock.cast::<PyMapping>() {
        let mut kinds = Vec::new();
        for item in stock.items()? {
            let (thickness, count): (Bound<'_, PyAny>, Option<Bound<'_, PyAny>>) =
                item.extract()?;
            let name = || format!("stock[{}]", shown(&thickness));
            kinds.extend(read(found, name, &thickness, count.as_ref(), None));
        }
        return Ok(Some(kinds));
    }
    let expected = "a mapping from thickness to count or a list of Shim";
    if let (Ok(shims), false) = (stock.try_iter(), stock.is_instance_of::<PyString>()) {
        let mut kinds = Vec::new();
        for (at, shim) in shims.enumerate() {
            let shim = shim?;
            let kind = shim.cast::<Shim>().map(|shim| {
                let shim = shim.get();
                let mut kind = truebed::Shim::new(shim.thickness, shim.count);
                kind.price = shim.price;
                kind
            });
            let kind = kind.map_err(|_| Refused::wrong_type(&shim, "a Shim"));
            kinds.extend(found.take(|| format!("stock[{at}]"), kind));
        }
        return Ok(Some(kinds));
    }
    Ok(found.take(|| "stock".to_owned(), Err(Refused::wrong_type(stock, expected))))
}
