//! The stored form: what stands in a job file, member by member.
//!
//! Each object is declared once, with the words that explain it; reading, the list of known names and
//! the JSON Schema all come from that declaration. The types of [`crate::model`] know nothing of it.

use quantity::{Flow, Length, Precipitation, Pressure, Ratio, Units};
use schemars::{Schema, SchemaGenerator, json_schema};
use serde_json::{Map, Value, json};

use crate::curve::{LossCurve, PumpCurve};
use crate::field::{
    AboveZero, Fault, Field, Finite, FromZero, Need, Property, Share, Stored, Word,
};
use crate::{LengthUnit, Moisture, ObstacleKind, ServiceClass, SurfaceKind, Texture};

/// The version of the format that this crate reads.
pub const FORMAT: u64 = 1;

impl Word for LengthUnit {}
impl Word for Units {}
impl Word for SurfaceKind {}
impl Word for ObstacleKind {}
impl Word for ServiceClass {}
impl Word for Texture {}
impl Word for Moisture {}

macro_rules! stored {
    (
        $(#[doc = $about:literal])+
        $name:ident { $($(#[doc = $doc:literal])+ $need:ident $field:ident: $type:ty,)* }
    ) => {
        $(#[doc = $about])+
        #[derive(Debug, Clone)]
        pub(crate) struct $name { $($(#[doc = $doc])+ pub $field: Field<$type>,)* }

        impl Stored for $name {
            const NAMES: &'static [&'static str] = &[$(stringify!($field)),*];
            fn read(_object: &Map<String, Value>) -> Self {
                Self { $($field: Field::read(_object.get(stringify!($field))),)* }
            }
            fn faults(&self) -> Vec<(&'static str, Fault)> {
                let all: Vec<Option<(&'static str, Fault)>> =
                    vec![$(self.$field.fault(stringify!($field), Need::$need)),*];
                all.into_iter().flatten().collect()
            }
            fn schema(_generator: &mut SchemaGenerator) -> Schema {
                let members: Vec<Member> = vec![$(Member {
                    name: stringify!($field),
                    about: concat!($($doc),+),
                    need: Need::$need,
                    schema: <$type as Property>::schema(_generator),
                }),*];
                object_schema(concat!($($about),+), members)
            }
        }
    };
}

struct Member {
    name: &'static str,
    about: &'static str,
    need: Need,
    schema: Schema,
}

fn object_schema(about: &str, members: Vec<Member>) -> Schema {
    let needed = members.iter().filter(|m| m.need == Need::Required);
    let required: Vec<&str> = needed.map(|m| m.name).collect();
    let properties: Map<String, Value> = members
        .into_iter()
        .map(|m| (m.name.to_owned(), described(m.schema, m.about)))
        .collect();
    json_schema!({
        "type": "object",
        "description": about.trim(),
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

/// The schema of a value with the member's own words before those of its type.
fn described(schema: Schema, about: &str) -> Value {
    let mut value = schema.to_value();
    let own = value.get("description").and_then(Value::as_str);
    let whole = match own {
        Some(own) if value.get("pattern").is_some() => format!("{} {own}", about.trim()),
        _ => about.trim().to_owned(),
    };
    value["description"] = json!(whole);
    value
}

stored! {
    /// What concerns the job as a whole.
    Header {
        /// Version of the format: 1.
        Required format: u64,
        /// The job's name.
        Required name: String,
        /// Whether the job is made up, as demo jobs are; false if left out.
        Optional invented: bool,
        /// Unit of the coordinates: metres or international feet.
        Required length_unit: LengthUnit,
        /// Units in which the plan is shown.
        Required display: Units,
        /// Seed of everything random; 1 if left out.
        Optional seed: u64,
        /// Where on the Earth the local plane lies.
        Optional anchor: AnchorMember,
        /// Local rules that differ from the defaults, nested as in the practice file.
        Optional practice: Map<String, Value>,
        /// Prices, rates and machines that differ from the defaults, nested as in the price file.
        Optional prices: Map<String, Value>,
    }
}

/// The anchor; a type of its own because its members are numbers, not texts.
#[derive(Debug, Clone, Copy)]
pub(crate) struct AnchorMember(pub crate::Anchor);

/// Heights above the ellipsoid between which all land lies, metres.
const LOWEST: f64 = -500.0;
const HIGHEST: f64 = 9000.0;

impl Property for AnchorMember {
    fn read(value: &Value) -> Result<Self, Fault> {
        let mend = "write {\"longitude\": -90.0, \"latitude\": 40.0, \"rotation\": 0} in degrees, \
                    and \"height\": \"1620 m\" if the plane lies high";
        let anchor: crate::Anchor = serde_json::from_value(value.clone())
            .map_err(|error| Fault::new("wrong-type", format!("cannot be read: {error}"), mend))?;
        let holds = anchor.longitude.abs() <= 180.0
            && anchor.latitude.abs() <= 90.0
            && anchor.rotation.abs() <= 360.0
            && (LOWEST..=HIGHEST).contains(&anchor.height.to_m());
        let what = "is not on the Earth: longitude is from -180 to 180, latitude from -90 to 90, \
                    rotation from -360 to 360, height from -500 m to 9000 m";
        if holds {
            Ok(Self(anchor))
        } else {
            Err(Fault::new("anchor-out-of-range", what, mend))
        }
    }
    fn schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "object",
            "properties": {
                "longitude": {
                    "description": "Degrees east of the plane's origin.",
                    "type": "number", "minimum": -180, "maximum": 180,
                },
                "latitude": {
                    "description": "Degrees north of the plane's origin.",
                    "type": "number", "minimum": -90, "maximum": 90,
                },
                "rotation": {
                    "description": "Degrees clockwise from true north to the plane's y axis.",
                    "type": "number", "minimum": -360, "maximum": 360, "default": 0,
                },
                "height": {
                    "description": "Height of the plane above the ellipsoid, such as 1620 m.",
                    "type": "string", "default": "0 m",
                },
            },
            "required": ["longitude", "latitude"],
            "additionalProperties": false,
        })
    }
    fn example() -> String {
        "{\"longitude\": -90.0, \"latitude\": 40.0}".to_owned()
    }
}

stored! {
    /// Nothing but its place.
    Bare {}
}
stored! {
    /// What covers the ground; where two overlap, the later one in the file counts.
    SurfaceMembers {
        /// What it is.
        Required surface: SurfaceKind,
    }
}
stored! {
    /// What stands in the way.
    ObstacleMembers {
        /// What it is.
        Required obstacle: ObstacleKind,
    }
}
stored! {
    /// A tree, at the middle of its trunk.
    TreeMembers {
        /// Diameter of the trunk at breast height.
        Required trunk: AboveZero<Length>,
        /// Radius inside which roots are protected; if left out, the practice rule counts.
        Optional root_radius: FromZero<Length>,
    }
}
stored! {
    /// A buried service of someone else.
    UtilityMembers {
        /// Its class after the uniform colour code for marking.
        Required service: ServiceClass,
        /// Its outside width, if known.
        Optional width: FromZero<Length>,
        /// Depth from the surface to its top, if known.
        Optional depth: FromZero<Length>,
        /// Whether it was located.
        Required located: bool,
        /// Whether it is marked on the ground.
        Required marked: bool,
    }
}
stored! {
    /// What the ground is made of; where two overlap, the later one in the file counts.
    SoilMembers {
        /// USDA texture class.
        Required texture: Texture,
        /// Coarse fragments (over 2 mm) by volume.
        Required coarse: Share,
        /// Size of the largest stones met in it, if known.
        Optional stone: FromZero<Length>,
        /// How wet it is when it is dug.
        Required moisture: Moisture,
    }
}
stored! {
    /// An area of a known slope.
    SteepMembers {
        /// Rise over run.
        Required slope: Share,
    }
}
stored! {
    /// A spot elevation.
    SpotMembers {
        /// Height above the job's own datum.
        Required elevation: Finite<Length>,
    }
}
stored! {
    /// A gate, drawn from post to post.
    GateMembers {
        /// Clear width between the posts as measured; it counts, not the drawing.
        Required clear_width: AboveZero<Length>,
    }
}
stored! {
    /// Where the water comes from.
    SourceMembers {
        /// Pressure with nothing running.
        Required static_pressure: AboveZero<Pressure>,
        /// Flow of the flowing test.
        Required test_flow: AboveZero<Flow>,
        /// Pressure left in the flowing test.
        Required residual_pressure: FromZero<Pressure>,
        /// Nominal size of the service pipe, a size of the main's pipe family.
        Required service_size: String,
        /// Pipe family of the main, a key of the practice file's `pipe` table.
        Required main_pipe: String,
        /// Pressure that a booster pump adds, by flow.
        Optional pump: PumpCurve,
        /// Pressure the meter takes, by flow; leave it out if the flowing test was made behind it.
        Optional meter_loss: LossCurve,
        /// Pressure a filter takes, by flow.
        Optional filter_loss: LossCurve,
        /// Pressure that a regulator behind all of these lets through at most.
        Optional regulated: AboveZero<Pressure>,
    }
}
stored! {
    /// The backflow assembly.
    BackflowMembers {
        /// Pressure it takes, by flow; if left out, the practice value counts.
        Optional loss: LossCurve,
    }
}
stored! {
    /// Heads that run together behind one valve.
    CircuitMembers {
        /// What people call it.
        Required name: String,
        /// Pipe family of its laterals, a key of the practice file's `pipe` table.
        Required pipe: String,
        /// Id of another circuit that may run at the same time; the main is sized for both.
        Optional runs_with: String,
    }
}
stored! {
    /// A valve.
    ValveMembers {
        /// Id of the circuit that it opens.
        Required circuit: String,
        /// Name of the manifold on which it sits with others.
        Optional manifold: String,
        /// Pressure it takes fully open, by flow; if left out, the practice value counts.
        Optional loss: LossCurve,
    }
}
stored! {
    /// A head, or the point at which a drip area is fed.
    OutletMembers {
        /// Id of its circuit; if left out, the plan finds one.
        Optional circuit: String,
        /// The flow it needs.
        Required flow: AboveZero<Flow>,
        /// The pressure it needs at that flow.
        Required pressure: AboveZero<Pressure>,
        /// How its flow follows the pressure: flow = k × pressure^exponent; if left out, the practice value
        /// counts.
        Optional exponent: AboveZero<Ratio>,
        /// Whether it gives the same flow at any pressure from the stated one on: a head with a regulator
        /// in its stem, a drip area with compensating emitters.
        Optional compensating: bool,
        /// The depth of water that it puts down in a time, such as "1.5 in/h"; heads that run together
        /// match in it.
        Optional precipitation: AboveZero<Precipitation>,
    }
}
stored! {
    /// A cable of another service that wants to share trenches; the first place feeds the others.
    CableMembers {
        /// What it is, such as "path lighting".
        Required service: String,
    }
}
stored! {
    /// A sleeve that lies under paving already, drawn from end to end.
    SleeveMembers {
        /// Its inside diameter.
        Required inside: AboveZero<Length>,
    }
}
stored! {
    /// A place where nothing is to be dug, whatever the ground allows.
    KeepOutMembers {
        /// Why, such as "new patio next spring".
        Optional reason: String,
    }
}
stored! {
    /// A strip in which trenches are preferred.
    CorridorMembers {
        /// By how much a metre of trench in it counts cheaper when ways are compared; the price of the
        /// job is not changed by it.
        Required favour: Share,
    }
}
stored! {
    /// A trench that runs where it is drawn.
    FixedTrenchMembers {
        /// What lies in it, with commas between: `service`, `main`, `wire`, or the id of a circuit or
        /// of a cable.
        Required carries: String,
        /// The method that puts it in, a key of the price file's `method` table; if left out, the plan
        /// chooses one.
        Optional method: String,
    }
}
