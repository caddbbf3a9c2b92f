//! The server: a socket, the routes, and an end.

use axum::Router;
use axum::middleware;
use axum::routing::{get, post};
use job::ReadOptions;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;
use store::Store;
use tokio::net::TcpListener;
use tokio::sync::Notify;
use utoipa_axum::router::OpenApiRouter;

use crate::desk::Desk;
use crate::guard::{self, Guard};
use crate::problem::Problem;
use crate::{api, page};

/// How long open pages are waited for at the end.
const FAREWELL: Duration = Duration::from_millis(300);

/// How the planner is served.
#[derive(Debug, Clone, Copy, Default)]
pub struct Options {
    /// The port; 0 takes any that is free.
    pub port: u16,
    /// Whether devices on the network may open it with a code.
    pub network: bool,
}

/// What is told while it is served.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// It is there: the address on this machine.
    Ready(String),
    /// The code for the next device on the network, and the port.
    Code(String, u16),
}

/// Why it is not served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The port cannot be had.
    #[error("the port {port} cannot be had: {source}")]
    Port {
        /// The port.
        port: u16,
        /// What the system says.
        source: io::Error,
    },
    /// The job file cannot be read or written.
    #[error("{0}")]
    Job(String),
    /// The system refused.
    #[error("the planner cannot be served: {0}")]
    System(#[from] io::Error),
    /// The system gives no random numbers.
    #[error("the system gives no random numbers: {0}")]
    Random(getrandom::Error),
}

/// Ends a planner from elsewhere.
#[derive(Debug, Clone, Default)]
pub struct Stop(Arc<Notify>);

impl Stop {
    /// Ends it, now or as soon as it begins to wait.
    pub fn now(&self) {
        self.0.notify_one();
    }
}

/// Work that blocks, off the threads that answer.
pub async fn off_thread<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    match tokio::task::spawn_blocking(work).await {
        Ok(done) => done,
        Err(_) => Err(Problem::new(
            axum::http::StatusCode::INTERNAL_SERVER_ERROR,
            "Something in the program failed; what was saved before still is",
            "load the page anew; if it fails again, start the program anew",
        )),
    }
}

/// Serves the planner over a job file until it is stopped; then the plan is kept in the file.
///
/// # Errors
/// If the file cannot be read or written, or the port cannot be had.
pub fn serve(
    store: Store,
    own: ReadOptions,
    options: Options,
    stop: &Stop,
    notice: impl Fn(Notice) + Send + Sync + 'static,
) -> Result<(), ServeError> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    let notice = Arc::new(notice);
    let desk = Desk::open(store, own).map_err(told)?;
    let desk = Arc::new(desk);
    let served = runtime.block_on(answering(Arc::clone(&desk), options, stop, notice));
    runtime.shutdown_timeout(FAREWELL);
    served?;
    desk.put_away().map_err(told)
}

fn told(problem: Problem) -> ServeError {
    ServeError::Job(format!("{}; {}", problem.what, problem.mend))
}

async fn answering(
    desk: Arc<Desk>,
    options: Options,
    stop: &Stop,
    notice: Arc<impl Fn(Notice) + Send + Sync + 'static>,
) -> Result<(), ServeError> {
    let at = match options.network {
        true => Ipv4Addr::UNSPECIFIED,
        false => Ipv4Addr::LOCALHOST,
    };
    let refused = |source| ServeError::Port {
        port: options.port,
        source,
    };
    let listener = TcpListener::bind(SocketAddr::new(IpAddr::V4(at), options.port))
        .await
        .map_err(refused)?;
    let port = listener.local_addr()?.port();
    let guard = match options.network {
        true => {
            let notice = Arc::clone(&notice);
            Guard::with_network(move |code| notice(Notice::Code(code.to_owned(), port)))
        }
        false => Guard::alone(),
    };
    let guard = guard.map_err(ServeError::Random)?;
    notice(Notice::Ready(format!("http://127.0.0.1:{port}/")));
    let app = app(desk, Arc::new(guard)).into_make_service_with_connect_info::<SocketAddr>();
    tokio::select! {
        served = axum::serve(listener, app) => Ok(served?),
        () = stop.0.notified() => Ok(()),
    }
}

/// Everything that is answered.
pub(crate) fn app(desk: Arc<Desk>, guard: Arc<Guard>) -> Router {
    let (api, _) = OpenApiRouter::new()
        .nest("/api", api::routes())
        .split_for_parts();
    let pages = Router::new()
        .route("/", get(page::index))
        .route(page::ENTER, post(page::enter))
        .with_state(Arc::clone(&guard));
    Router::new()
        .merge(api.with_state(desk))
        .merge(pages)
        .fallback(page::file)
        .layer(middleware::from_fn_with_state(guard, guard::stand))
}
