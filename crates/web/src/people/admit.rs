//! Every request: who asks, and whether that person may.

use axum::extract::{Request, State};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::batches::{AccountRole, Digest, StoreError};

use super::{Door, Person};
use crate::keep::{fault, now};
use crate::look::{Visit, cookie};
use crate::plan::encode;
use crate::state::Site;

/// Pages that nobody needs to sign in for.
fn is_open(path: &str) -> bool {
    matches!(path, "/sign-in" | "/first" | "/look" | "/sw.js") || path.starts_with("/static/")
}

/// Whether a role may ask for this. Reading is for everybody who signed in but the accounts.
fn may(role: AccountRole, method: &Method, path: &str) -> bool {
    let floor = [
        "/batches",
        "/proof/",
        "/api/v1/batches",
        "/api/v1/proof/",
        "/rehearse",
        "/api/v1/rehearsals",
        "/demo",
        "/sign-out",
    ]
    .iter()
    .any(|p| path.starts_with(p));
    // Plans are asked for with a body and keep nothing.
    let asks = matches!(path, "/api/v1/plans" | "/api/v1/comparisons");
    match role {
        AccountRole::Supervisor => true,
        AccountRole::Operator => !path.starts_with("/people") && (method.is_safe() || floor || asks),
        AccountRole::Reader => {
            !path.starts_with("/people") && (method.is_safe() || asks || path == "/sign-out")
        }
    }
}

/// The person of a session that is still good.
async fn person(site: &Site, token: &str) -> Result<Option<Person>, StoreError> {
    let digest = Digest::of(token.as_bytes());
    site.desk()
        .people(move |p| {
            let Some(session) = p.session(digest)? else { return Ok(None) };
            if session.expires_at.seconds_since(now()) <= 0.0 {
                p.end_session(digest)?;
                return Ok(None);
            }
            let account = p.accounts()?.into_iter().find(|a| a.name == session.account && a.active);
            Ok(account.map(|a| Person { account: a.name, full_name: a.full_name, role: a.role }))
        })
        .await
}

/// Lets a request through, or leads to where one signs in.
pub(crate) async fn admit(
    State(site): State<Site>,
    visit: Visit,
    mut request: Request,
    next: Next,
) -> Response {
    let path = request.uri().path().to_owned();
    if matches!(site.door(), Door::ThisMachine) {
        // Accounts are of the network.
        let of_accounts =
            matches!(path.as_str(), "/sign-in" | "/sign-out" | "/first") || path.starts_with("/people");
        return if of_accounts { StatusCode::NOT_FOUND.into_response() } else { next.run(request).await };
    }
    let token = cookie(request.headers(), "session").map(str::to_owned);
    let found = match token {
        Some(token) => match person(&site, &token).await {
            Ok(found) => found,
            Err(e) => return fault(&visit, &e),
        },
        None => None,
    };
    match found {
        Some(person) if may(person.role, request.method(), &path) => {
            request.extensions_mut().insert(Visit { person: Some(person), ..visit });
            next.run(request).await
        }
        Some(_) => StatusCode::FORBIDDEN.into_response(),
        None if is_open(&path) => next.run(request).await,
        None if path.starts_with("/api/") => StatusCode::UNAUTHORIZED.into_response(),
        None if request.method() == Method::GET => {
            Redirect::to(&format!("/sign-in?back={}", encode(&visit.here))).into_response()
        }
        None => StatusCode::UNAUTHORIZED.into_response(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refuse_what_a_role_may_not() {
        use AccountRole::{Operator, Reader, Supervisor};
        let post = Method::POST;
        assert!(may(Supervisor, &post, "/people") && may(Supervisor, &post, "/setup"));
        assert!(may(Operator, &post, "/batches/1/done") && may(Operator, &post, "/sign-out"));
        for path in ["/people", "/people/ana", "/setup", "/plans"] {
            assert!(!may(Operator, &post, path) && !may(Reader, &post, path), "{path}");
        }
        assert!(!may(Operator, &Method::GET, "/people") && !may(Reader, &Method::GET, "/people"));
        assert!(may(Reader, &Method::GET, "/batches/1") && !may(Reader, &post, "/batches/1/done"));
        assert!(!may(Reader, &post, "/api/v1/batches/1/entries"));
    }
}
