//! The shims in the van.

use std::hash::{DefaultHasher, Hash, Hasher};

use pyo3::prelude::*;
use pyo3::types::{PyDict, PyMapping, PyString};
use truebed::{Length, OnlyUnder, ShimPlan};

use crate::error::{Problems, Refused, raised, shown};
use crate::name::{Name, Names};
use crate::value::{length, number, whole};

const COUNT: &str = "None or a whole number of pieces from 0 to 4294967295";
const PRICE: &str = "a whole number from 0 to 4294967295";

/// One kind of shim: the thickness of a piece (mm, or a text with a unit), the count on hand
/// (None for as many as it takes), and the price or weight of a piece in whole units (cents,
/// grams), which the order "cheapest" adds up.
///
/// loaded_factor is what is left of the thickness under load, from 0.5 to 1. sigma is the standard
/// uncertainty of the thickness of a piece (None for none), by which pieces of a kind differ;
/// common_sigma is that which all pieces of the kind share, as those of one mislabelled tin. With to and step it is
/// an adjustable piece, a tapered wedge or a screw foot: thickness is its least, to its greatest,
/// step its smallest step; a stack has at most one. under names the supports, by index or by id,
/// that it may go under; None for all. name is what a person calls the kind: it is shown wherever a piece
/// of it is.
///
/// >>> import truebed
/// >>> truebed.Shim("0.010 in", 24)
/// Shim(thickness=0.254, count=24, price=0)
/// >>> truebed.Shim(5, 2, to=25, step="0.05 mm", under=["A"])  # two screw feet, for one leg
/// Shim(thickness=5, count=2, price=0, to=25, step=0.05, under=["A"])
#[pyclass(frozen, eq, module = "truebed")]
#[derive(PartialEq)]
pub(crate) struct Shim {
    shim: truebed::Shim,
    under: Option<Vec<Name>>,
}

/// The constructor's arguments by position: thickness, count, price.
type Positional = (f64, Option<u32>, u32);

#[pymethods]
impl Shim {
    #[new]
    #[pyo3(signature = (thickness, count = None, price = None, *, loaded_factor = None, sigma = None, common_sigma = None, to = None, step = None, under = None, name = None))]
    #[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
    fn new(
        thickness: &Bound<'_, PyAny>,
        count: Option<&Bound<'_, PyAny>>,
        price: Option<&Bound<'_, PyAny>>,
        loaded_factor: Option<&Bound<'_, PyAny>>,
        sigma: Option<&Bound<'_, PyAny>>,
        common_sigma: Option<&Bound<'_, PyAny>>,
        to: Option<&Bound<'_, PyAny>>,
        step: Option<&Bound<'_, PyAny>>,
        under: Option<&Bound<'_, PyAny>>,
        name: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let mut found = Problems::default();
        let called = || format!("Shim({})", shown(thickness));
        let field = |field: &str| format!("{}.{field}", called());
        let shim = read(&mut found, called, thickness, count, price);
        let factor = loaded_factor.map_or(Ok(1.0), |factor| number(factor, "a number"));
        let factor = found.take(|| field("loaded_factor"), factor);
        let mut setting = |value: Option<&Bound<'_, PyAny>>, name: &str| {
            value.and_then(|value| found.take(|| field(name), length(value)))
        };
        let sigma = setting(sigma, "sigma").unwrap_or_default();
        let common_sigma = setting(common_sigma, "common_sigma").unwrap_or_default();
        let adjusts = (setting(to, "to"), setting(step, "step"));
        if to.is_some() != step.is_some() {
            let refused = Refused::value("one of them", "both to and step, or neither");
            found.take(|| field("to, step"), Err::<(), _>(refused));
        }
        let name = match name.filter(|name| !name.is_none()) {
            Some(name) => {
                let text = name.cast::<PyString>();
                let text = text.map(|text| text.to_string_lossy().into_owned());
                found.take(|| field("name"), text.map_err(|_| Refused::wrong_type(name, "a name")))
            }
            None => Some(String::new()),
        };
        let under = match under {
            Some(under) => found.take(|| field("under"), names(under)?).map(Some),
            None => Some(None),
        };
        let read = (|| {
            let mut shim = shim?;
            shim.name = name?;
            shim.loaded_factor = factor?;
            (shim.sigma, shim.common_sigma) = (sigma, common_sigma);
            shim.adjusts = adjusts.0.zip(adjusts.1).map(|(to, step)| truebed::Adjusts { to, step });
            Some(Self { shim, under: under? })
        })();
        let read = found.finish(thickness.py(), read)?;
        read.shim.check(&called()).map_err(|error| raised(thickness.py(), &error))?;
        Ok(read)
    }

    /// What a person calls the kind; None where it has no name.
    #[getter]
    fn name(&self) -> Option<&str> {
        Some(self.shim.name.as_str()).filter(|name| !name.is_empty())
    }

    /// Thickness of one piece, of an adjustable one its least, mm.
    #[getter]
    fn thickness(&self) -> f64 {
        self.shim.thickness.mm()
    }

    /// Pieces on hand; None for as many as it takes.
    #[getter]
    fn count(&self) -> Option<u32> {
        self.shim.count
    }

    /// Price or weight of one piece, whole units.
    #[getter]
    fn price(&self) -> u32 {
        self.shim.price
    }

    /// What is left of the thickness under load.
    #[getter]
    fn loaded_factor(&self) -> f64 {
        self.shim.loaded_factor
    }

    /// Standard uncertainty of the thickness of a piece, mm.
    #[getter]
    fn sigma(&self) -> f64 {
        self.shim.sigma.mm()
    }

    /// Standard uncertainty of the thickness that all pieces of the kind share, mm.
    #[getter]
    fn common_sigma(&self) -> f64 {
        self.shim.common_sigma.mm()
    }

    /// The greatest thickness of an adjustable piece, mm; None for a plain shim.
    #[getter]
    fn to(&self) -> Option<f64> {
        self.shim.adjusts.map(|adjusts| adjusts.to.mm())
    }

    /// The smallest step of an adjustable piece, mm; None for a plain shim.
    #[getter]
    fn step(&self) -> Option<f64> {
        self.shim.adjusts.map(|adjusts| adjusts.step.mm())
    }

    /// The supports, by index or by id, that it may go under; None for all.
    #[getter]
    fn under(&self) -> Option<Vec<Name>> {
        self.under.clone()
    }

    fn __hash__(&self) -> u64 {
        let mut hasher = DefaultHasher::new();
        (self.shim.thickness, self.shim.count, self.shim.price, &self.under).hash(&mut hasher);
        hasher.finish()
    }

    fn __repr__(&self) -> String {
        let shim = &self.shim;
        let count = shim.count.map_or_else(|| "None".to_owned(), |count| count.to_string());
        let mut text =
            format!("Shim(thickness={}, count={count}, price={}", shim.thickness.mm(), shim.price);
        if shim.loaded_factor < 1.0 {
            text += &format!(", loaded_factor={}", shim.loaded_factor);
        }
        if shim.sigma > Length::ZERO {
            text += &format!(", sigma={}", shim.sigma.mm());
        }
        if shim.common_sigma > Length::ZERO {
            text += &format!(", common_sigma={}", shim.common_sigma.mm());
        }
        if let Some(adjusts) = shim.adjusts {
            text += &format!(", to={}, step={}", adjusts.to.mm(), adjusts.step.mm());
        }
        if let Some(under) = &self.under {
            text += &format!(", under={under:?}");
        }
        if !shim.name.is_empty() {
            text += &format!(", name={:?}", shim.name);
        }
        text + ")"
    }

    fn __getnewargs_ex__<'py>(
        &self,
        py: Python<'py>,
    ) -> PyResult<(Positional, Bound<'py, PyDict>)> {
        let named = PyDict::new(py);
        named.set_item("loaded_factor", self.loaded_factor())?;
        named.set_item("sigma", self.sigma())?;
        named.set_item("common_sigma", self.common_sigma())?;
        named.set_item("to", self.to())?;
        named.set_item("step", self.step())?;
        named.set_item("under", self.under())?;
        named.set_item("name", self.name())?;
        Ok(((self.thickness(), self.shim.count, self.shim.price), named))
    }
}

impl Shim {
    /// The stock that a plan leaves on hand, supports by their ids if they have any.
    pub(crate) fn left(
        problem: &truebed::ShimProblem,
        plan: &ShimPlan,
        ids: Option<&[String]>,
    ) -> Vec<Self> {
        let name = |&at: &usize| match ids.and_then(|ids| ids.get(at)) {
            Some(id) => Name::Id(id.clone()),
            None => Name::At(at),
        };
        let kinds = problem.stock.iter().zip(&plan.left).enumerate();
        kinds
            .map(|(kind, (shim, &count))| {
                let only = problem.only_under.iter().find(|only| only.kind == kind);
                let under = only.map(|only| only.supports.iter().map(name).collect());
                Self { shim: truebed::Shim { count, ..shim.clone() }, under }
            })
            .collect()
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

/// A list of supports.
fn names(value: &Bound<'_, PyAny>) -> PyResult<Result<Vec<Name>, Refused>> {
    let expected = "a list of indices or ids of supports";
    let (Ok(items), false) = (value.try_iter(), value.is_instance_of::<PyString>()) else {
        return Ok(Err(Refused::wrong_type(value, expected)));
    };
    let mut names = Vec::new();
    for item in items {
        match Name::read(&item?) {
            Ok(name) => names.push(name),
            Err(refused) => return Ok(Err(refused)),
        }
    }
    Ok(Ok(names))
}

/// A stock, and which of its kinds may go under some supports only.
pub(crate) type Stock = (Vec<truebed::Shim>, Vec<OnlyUnder>);

/// A stock: a mapping from thickness to count, or shims one by one.
pub(crate) fn stock(
    found: &mut Problems,
    field: &str,
    stock: &Bound<'_, PyAny>,
    names: &Names<'_>,
) -> PyResult<Option<Stock>> {
    if let Ok(stock) = stock.cast::<PyMapping>() {
        let mut kinds = Vec::new();
        for item in stock.items()? {
            let (thickness, count): (Bound<'_, PyAny>, Option<Bound<'_, PyAny>>) =
                item.extract()?;
            let name = || format!("{field}[{}]", shown(&thickness));
            kinds.extend(read(found, name, &thickness, count.as_ref(), None));
        }
        return Ok(Some((kinds, Vec::new())));
    }
    let expected = "a mapping from thickness to count or a list of Shim";
    if let (Ok(shims), false) = (stock.try_iter(), stock.is_instance_of::<PyString>()) {
        let (mut kinds, mut only_under) = (Vec::new(), Vec::new());
        for (at, shim) in shims.enumerate() {
            let shim = shim?;
            let kind = shim.cast::<Shim>().map_err(|_| Refused::wrong_type(&shim, "a Shim"));
            if let Some(kind) = found.take(|| format!("{field}[{at}]"), kind) {
                let Shim { shim, under } = kind.get();
                kinds.push(shim.clone());
                if let Some(under) = under {
                    let supports = names.find(under);
                    let supports = found.take(|| format!("{field}[{at}].under"), supports);
                    let only = |supports| OnlyUnder { kind: at, supports };
                    only_under.extend(supports.map(only));
                }
            }
        }
        return Ok(Some((kinds, only_under)));
    }
    Ok(found.take(|| field.to_owned(), Err(Refused::wrong_type(stock, expected))))
}
