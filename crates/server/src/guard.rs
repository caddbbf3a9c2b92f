//! Who may ask: the machine itself, or whoever has given the code that was printed for the network; and never a page
//! of another site.

use axum::extract::{ConnectInfo, Request, State};
use axum::http::header::{self, HeaderName};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use crate::page;
use crate::problem::Problem;

/// The header in which the page shows that it is ours.
const TOKEN: HeaderName = HeaderName::from_static("x-spadework");

/// The cookie of a device that has given its code.
const COOKIE: &str = "spadework";

/// Wrong codes before a new one is printed.
const MOST_WRONG: u32 = 5;

/// How long a request may take, those for events left out: importing the largest file takes some seconds.
const PATIENCE: Duration = Duration::from_secs(60);

/// Letters and digits that are not taken for each other: 32 of them.
const SIGNS: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";

/// Headers of every answer.
const HEADERS: [(HeaderName, &str); 7] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; \
         form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "no-referrer"),
    (
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("permissions-policy"),
        "camera=(), geolocation=(), microphone=()",
    ),
];

/// The drawing carries its own style and is nothing but a picture.
const DRAWING: &str =
    "default-src 'none'; style-src 'unsafe-inline'; sandbox; frame-ancestors 'none'";

/// What is asked of everyone.
pub struct Guard {
    /// What the page shows with every request that changes something.
    pub token: String,
    network: Option<Network>,
}

/// Sharing with devices on the network.
struct Network {
    state: Mutex<Devices>,
    tell: Box<dyn Fn(&str) + Send + Sync>,
}

struct Devices {
    /// The code that the next device has to give.
    code: String,
    wrong: u32,
    /// What devices show that have given theirs.
    sessions: Vec<String>,
}

/// A text that nobody guesses: so many signs of five bits each.
fn secret(signs: usize) -> Result<String, getrandom::Error> {
    let mut bytes = vec![0; signs];
    getrandom::fill(&mut bytes)?;
    let signs = bytes
        .iter()
        .map(|&byte| char::from(SIGNS[usize::from(byte % 32)]));
    Ok(signs.collect())
}

fn code() -> Result<String, getrandom::Error> {
    let signs = secret(8)?;
    let (first, second) = signs.split_at(4);
    Ok(format!("{first}-{second}"))
}

impl Guard {
    /// A guard that lets only the machine itself in.
    pub fn alone() -> Result<Self, getrandom::Error> {
        Ok(Self {
            token: secret(32)?,
            network: None,
        })
    }

    /// A guard that also lets devices in that give a code; each code is good for one, and `tell` says the next.
    pub fn with_network(
        tell: impl Fn(&str) + Send + Sync + 'static,
    ) -> Result<Self, getrandom::Error> {
        let code = code()?;
        tell(&code);
        let state = Devices {
            code,
            wrong: 0,
            sessions: Vec::new(),
        };
        Ok(Self {
            token: secret(32)?,
            network: Some(Network {
                state: Mutex::new(state),
                tell: Box::new(tell),
            }),
        })
    }

    /// Whether a device may look at all.
    fn lets_in(&self, from: IpAddr, headers: &HeaderMap) -> bool {
        if from.to_canonical().is_loopback() {
            return true;
        }
        let Some(network) = &self.network else {
            return false;
        };
        let devices = network.state.lock().unwrap_or_else(PoisonError::into_inner);
        let shown = cookie(headers);
        shown.is_some_and(|shown| devices.sessions.iter().any(|one| same(one, shown)))
    }

    /// Lets a device in that gives the code; the cookie that it shows from then on.
    pub fn enter(&self, given: &str) -> Option<String> {
        let network = self.network.as_ref()?;
        let mut devices = network.state.lock().unwrap_or_else(PoisonError::into_inner);
        let given: String = given
            .chars()
            .filter(char::is_ascii_alphanumeric)
            .map(|c| c.to_ascii_uppercase())
            .collect();
        let right = same(&devices.code.replace('-', ""), &given);
        if !right {
            devices.wrong += 1;
        }
        let session = match right {
            true => Some(secret(32).ok()?),
            false => None,
        };
        if right || devices.wrong >= MOST_WRONG {
            devices.code = code().ok()?;
            devices.wrong = 0;
            (network.tell)(&devices.code);
        }
        let session = session?;
        devices.sessions.push(session.clone());
        Some(format!(
            "{COOKIE}={session}; Path=/; HttpOnly; SameSite=Strict"
        ))
    }
}

/// Compares without telling by the time how much of it is right.
fn same(a: &str, b: &str) -> bool {
    let (a, b) = (a.as_bytes(), b.as_bytes());
    let differs = a.iter().zip(b).fold(0, |differs, (a, b)| differs | (a ^ b));
    a.len() == b.len() && differs == 0
}

fn cookie(headers: &HeaderMap) -> Option<&str> {
    let all = headers.get_all(header::COOKIE).iter();
    let pairs = all
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'));
    let named = pairs.filter_map(|pair| pair.trim().split_once('='));
    named
        .filter(|(name, _)| *name == COOKIE)
        .map(|(_, value)| value)
        .next()
}

/// Whether a host is named by its address or as the machine itself: a name that another site has pointed here is
/// not.
fn is_plain(host: &str) -> bool {
    let name = match host.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|digit| digit.is_ascii_digit()) => name,
        _ => host,
    };
    let bare = name.trim_start_matches('[').trim_end_matches(']');
    name == "localhost" || bare.parse::<IpAddr>().is_ok()
}

fn text<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    headers.get(name)?.to_str().ok()
}

/// Why a request is refused.
fn against(guard: &Guard, method: &Method, headers: &HeaderMap) -> Option<Problem> {
    let refused = |what: &str| {
        let mend = "open the address that the program has printed";
        Some(Problem::new(StatusCode::FORBIDDEN, what, mend))
    };
    let host = text(headers, &header::HOST).unwrap_or_default();
    if !is_plain(host) {
        return refused("The request names a host that is not this machine");
    }
    let site = text(headers, &HeaderName::from_static("sec-fetch-site"));
    if site.is_some_and(|site| site != "same-origin" && site != "none") {
        return refused("The request comes from a page of another site");
    }
    if let Some(origin) = headers.get(header::ORIGIN)
        && origin.as_bytes() != format!("http://{host}").as_bytes()
    {
        return refused("The request comes from a page of another site");
    }
    let changes = !matches!(*method, Method::GET | Method::HEAD | Method::OPTIONS);
    let shown = text(headers, &TOKEN).unwrap_or_default();
    if changes && !same(shown, &guard.token) {
        return refused("The request does not show the token of the page");
    }
    None
}

/// Stands before every request, and puts the headers on every answer.
pub async fn stand(
    State(guard): State<Arc<Guard>>,
    ConnectInfo(from): ConnectInfo<SocketAddr>,
    request: Request,
    next: Next,
) -> Response {
    let path = request.uri().path().to_owned();
    let mut answer = answer(&guard, from.ip(), request, next).await;
    let headers = answer.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if path == "/api/drawing" {
        let policy = HeaderValue::from_static(DRAWING);
        headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    }
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    answer
}

async fn answer(guard: &Guard, from: IpAddr, request: Request, next: Next) -> Response {
    let path = request.uri().path();
    if !guard.lets_in(from, request.headers()) {
        return match path {
            page::ENTER if guard.network.is_some() => next.run(request).await,
            "/" if guard.network.is_some() => page::door(StatusCode::OK, ""),
            _ => Problem::new(
                StatusCode::FORBIDDEN,
                "This device has not given its code",
                "open the address that the program has printed, and give the code",
            )
            .into_response(),
        };
    }
    if path != page::ENTER
        && let Some(problem) = against(guard, request.method(), request.headers())
    {
        return problem.into_response();
    }
    if path == "/api/events" {
        return next.run(request).await;
    }
    match tokio::time::timeout(PATIENCE, next.run(request)).await {
        Ok(answer) => answer,
        Err(_) => Problem::new(
            StatusCode::REQUEST_TIMEOUT,
            "The request took too long",
            "try again",
        )
        .into_response(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_hosts_are_this_machine() {
        for host in [
            "localhost:4870",
            "127.0.0.1:80",
            "[::1]:4870",
            "192.168.0.7:4870",
            "127.0.0.1",
        ] {
            assert!(is_plain(host), "{host}");
        }
        for host in [
            "example.org",
            "127.0.0.1.example.org:4870",
            "",
            "localhost.example:1",
        ] {
            assert!(!is_plain(host), "{host}");
        }
    }

    #[test]
    fn a_code_lets_one_device_in() {
        let told = Arc::new(Mutex::new(Vec::new()));
        let heard = Arc::clone(&told);
        let guard =
            Guard::with_network(move |code| heard.lock().unwrap().push(code.to_owned())).unwrap();
        let first = told.lock().unwrap()[0].clone();
        let far: IpAddr = "192.168.0.9".parse().unwrap();
        assert!(!guard.lets_in(far, &HeaderMap::new()));
        assert!(guard.enter("WRONG").is_none());
        let cookie = guard.enter(&first.to_lowercase()).unwrap();
        assert!(guard.enter(&first).is_none(), "a code is good once");
        let mut headers = HeaderMap::new();
        let pair = cookie.split(';').next().unwrap();
        headers.insert(header::COOKIE, HeaderValue::from_str(pair).unwrap());
        assert!(guard.lets_in(far, &headers));
        assert_eq!(told.lock().unwrap().len(), 2);
    }

    #[test]
    fn guessing_makes_a_new_code() {
        let told = Arc::new(Mutex::new(Vec::new()));
        let heard = Arc::clone(&told);
        let guard =
            Guard::with_network(move |code| heard.lock().unwrap().push(code.to_owned())).unwrap();
        for _ in 0..MOST_WRONG {
            assert!(guard.enter("ABCD-EFGH").is_none());
        }
        assert_eq!(told.lock().unwrap().len(), 2);
    }
}
