//! The page over a folder of cases.

use std::io::{ErrorKind, Write};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::time::Duration;

use clap::Args;
use tokio::net::TcpListener;

use crate::Answer;
use crate::http::security::{Security, new_token};
use crate::http::{App, router};

/// Port that is taken where it is free.
const USUAL_PORT: u16 = 4096;
/// Time that answers under way get when the server is ended.
const LAST_ANSWERS: Duration = Duration::from_secs(1);
/// Shortest token that is taken.
const SHORTEST_TOKEN: usize = 16;

/// What to serve, and to whom.
#[derive(Debug, Clone, Args)]
pub struct ServeArguments {
    /// Folder of case files
    #[arg(default_value = ".", value_name = "FOLDER")]
    folder: PathBuf,
    /// Address to listen on, with or without a port; port 0 takes a free one
    #[arg(long, value_name = "ADDRESS[:PORT]", default_value = "127.0.0.1", value_parser = address)]
    listen: Listen,
    /// Name under which others reach this machine, where it listens further than loopback; may be repeated
    #[arg(long = "host", value_name = "NAME")]
    hosts: Vec<String>,
    /// Token that every request must carry; made and printed where one is needed and none is given
    #[arg(long, value_name = "TOKEN", value_parser = token)]
    token: Option<String>,
}

/// An address as it was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Listen {
    address: IpAddr,
    port: Option<u16>,
}

fn address(text: &str) -> Result<Listen, String> {
    let with_port = || text.parse::<SocketAddr>().map(|socket| Listen { address: socket.ip(), port: Some(socket.port()) });
    let name = match text {
        "localhost" => Ok(IpAddr::V4(Ipv4Addr::LOCALHOST)),
        text => text.parse::<IpAddr>(),
    };
    let alone = name.map(|address| Listen { address, port: None });
    alone.or_else(|_| with_port()).map_err(|_| "write an address such as 127.0.0.1, 127.0.0.1:8080 or [::1]:8080".to_owned())
}

fn token(text: &str) -> Result<String, String> {
    let plain = text.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'));
    if plain && text.len() >= SHORTEST_TOKEN {
        Ok(text.to_owned())
    } else {
        Err(format!("a token is made of at least {SHORTEST_TOKEN} letters, digits, `-`, `_` or `.`"))
    }
}

/// Serve until the program is ended.
pub fn serve(arguments: &ServeArguments) -> Answer {
    let served = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(|error| format!("no threads to serve with: {error}"))
        .and_then(|runtime| runtime.block_on(serving(arguments)));
    match served {
        Ok(()) => Answer::default(),
        Err(message) => Answer::error(format!("error: {message}\n")),
    }
}

async fn serving(arguments: &ServeArguments) -> Result<(), String> {
    let security = security(arguments)?;
    let token = security.token.clone();
    let app = App::new(&arguments.folder, security).map_err(|error| no_folder(arguments, &error))?;
    let listener = listener(arguments.listen).await?;
    let local = listener.local_addr().map_err(|error| error.to_string())?;
    announce(arguments, local, token.as_deref());
    tokio::spawn(app.clone().look());
    let ended = async || {
        let _ = tokio::signal::ctrl_c().await;
    };
    let server = axum::serve(listener, router(app)).with_graceful_shutdown(ended());
    tokio::select! {
        served = async { server.await } => served.map_err(|error| format!("the server broke off: {error}")),
        // Streams have no end of their own.
        () = async { ended().await; tokio::time::sleep(LAST_ANSWERS).await } => Ok(()),
    }
}

fn security(arguments: &ServeArguments) -> Result<Security, String> {
    let address = arguments.listen.address;
    if address.is_loopback() && arguments.token.is_none() {
        return Ok(Security { hosts: arguments.hosts.clone(), ..Security::loopback() });
    }
    let mut hosts = arguments.hosts.clone();
    if !address.is_unspecified() {
        hosts.push(address.to_string());
    }
    let token = match &arguments.token {
        Some(token) => token.clone(),
        None => new_token().map_err(|error| format!("no token can be made: {error}; give one by --token"))?,
    };
    Ok(Security { hosts, token: Some(token) })
}

fn no_folder(arguments: &ServeArguments, error: &std::io::Error) -> String {
    let shown = arguments.folder.display();
    match error.kind() {
        ErrorKind::NotFound => format!("there is no folder {shown}: make it first, or name the one that holds the case files"),
        ErrorKind::NotADirectory => format!("{shown} is a file: name the folder that it lies in"),
        _ => format!("{shown} cannot be served: {error}"),
    }
}

async fn listener(listen: Listen) -> Result<TcpListener, String> {
    let at = |port| TcpListener::bind(SocketAddr::new(listen.address, port));
    let bound = match listen.port {
        Some(port) => at(port).await,
        None => match at(USUAL_PORT).await {
            Err(error) if error.kind() == ErrorKind::AddrInUse => at(0).await,
            bound => bound,
        },
    };
    bound.map_err(|error| match error.kind() {
        ErrorKind::AddrInUse => format!("{}: the port is taken; leave it out, or take another", listen.address),
        ErrorKind::PermissionDenied => format!("{}: the port may not be taken; one above 1023 may", listen.address),
        _ => format!("{} cannot be listened on: {error}", listen.address),
    })
}

/// Said at once: the command itself answers only when the server is ended.
fn announce(arguments: &ServeArguments, local: SocketAddr, token: Option<&str>) {
    let mut text = format!("{} at http://{local}/", arguments.folder.display());
    if let Some(token) = token {
        text += &format!("\nwith the token: http://{local}/?token={token}");
    }
    if local.ip().is_unspecified() && arguments.hosts.is_empty() {
        text += "\nno --host is named: other machines must reach this one through one of its own names or addresses, given by --host";
    }
    text += "\nCtrl-C ends it\n";
    let mut out = std::io::stdout();
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_read_with_and_without_a_port() {
        let loopback = IpAddr::V4(Ipv4Addr::LOCALHOST);
        assert_eq!(address("127.0.0.1"), Ok(Listen { address: loopback, port: None }));
        assert_eq!(address("localhost"), Ok(Listen { address: loopback, port: None }));
        assert_eq!(address("127.0.0.1:0"), Ok(Listen { address: loopback, port: Some(0) }));
        assert!(address("::1").is_ok() && address("[::1]:80").is_ok());
        assert!(address("example").is_err() && address("127.0.0.1:99999").is_err());
    }

    #[test]
    fn tokens_are_long_and_plain() {
        assert!(token("0123456789abcdef").is_ok());
        for bad in ["short", "0123456789abcde;", "0123456789abc def"] {
            assert!(token(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn whoever_listens_further_asks_for_a_token() {
        let at = |listen: &str| ServeArguments {
            folder: PathBuf::from("."),
            listen: address(listen).expect("an address"),
            hosts: Vec::new(),
            token: None,
        };
        assert!(security(&at("127.0.0.1")).expect("no token needed").token.is_none());
        assert!(security(&at("0.0.0.0")).expect("one is made").token.is_some());
        assert_eq!(security(&at("192.0.2.7")).expect("one is made").hosts, ["192.0.2.7"]);
    }
}
