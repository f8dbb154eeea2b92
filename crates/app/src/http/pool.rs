//! Work off the threads that serve: a few workers, a short queue, a limit of time, and a way to stop.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use axum::http::StatusCode;
use tokio::sync::oneshot;

use super::problem::Problem;

type Task = Box<dyn FnOnce() + Send>;

/// Workers with their queue.
#[derive(Debug, Clone)]
pub struct Pool {
    queue: SyncSender<Task>,
    limit: Duration,
}

/// Whether somebody still waits for the work.
#[derive(Debug, Clone, Default)]
pub struct Wanted(Arc<AtomicBool>);

impl Wanted {
    /// Nobody waits any more.
    pub fn give_up(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether nobody waits any more.
    pub fn given_up(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// Gives up when it is dropped, as the future of a request is whose client has left.
struct GiveUp(Wanted);

impl Drop for GiveUp {
    fn drop(&mut self) {
        self.0.give_up();
    }
}

impl Pool {
    /// A pool of `workers` with room for `queued` more tasks, each of which may take `limit`.
    ///
    /// # Errors
    /// The system has no thread to give.
    pub fn new(name: &str, workers: usize, queued: usize, limit: Duration) -> std::io::Result<Self> {
        let (queue, tasks) = sync_channel::<Task>(queued);
        let tasks = Arc::new(Mutex::new(tasks));
        for number in 1..=workers {
            let tasks = tasks.clone();
            std::thread::Builder::new().name(format!("{name} {number}")).spawn(move || work(&tasks))?;
        }
        Ok(Self { queue, limit })
    }

    /// Has a task done.
    ///
    /// # Errors
    /// 429 where the queue is full, 503 where it takes too long, 500 where the task broke down.
    pub async fn run<T: Send + 'static>(&self, task: impl FnOnce(&Wanted) -> T + Send + 'static) -> Result<T, Problem> {
        let wanted = Wanted::default();
        let _guard = GiveUp(wanted.clone());
        let (done, answer) = oneshot::channel();
        self.submit(Box::new(move || {
            if !wanted.given_up() {
                let _ = done.send(task(&wanted));
            }
        }))?;
        match tokio::time::timeout(self.limit, answer).await {
            Ok(Ok(answer)) => Ok(answer),
            Ok(Err(_)) => Err(Problem::internal("the computation broke down")),
            Err(_) => Err(Problem::new(
                StatusCode::SERVICE_UNAVAILABLE,
                "server.too-long",
                format!("this takes longer than {} s and was stopped", self.limit.as_secs()),
                "Ask for fewer duties at once, or have it done as a study.",
            )),
        }
    }

    /// Puts a task into the queue and does not wait for it.
    ///
    /// # Errors
    /// 429 where the queue is full.
    pub fn submit(&self, task: Task) -> Result<(), Problem> {
        self.queue.try_send(task).map_err(|error| match error {
            TrySendError::Full(_) => Problem::new(
                StatusCode::TOO_MANY_REQUESTS,
                "server.busy",
                "the server has as much to do as it takes on",
                "Wait for the answers under way and ask again.",
            ),
            TrySendError::Disconnected(_) => Problem::internal("no worker is left"),
        })
    }
}

fn work(tasks: &Mutex<Receiver<Task>>) {
    loop {
        let next = tasks.lock().unwrap_or_else(PoisonError::into_inner).recv();
        let Ok(task) = next else { return };
        // A task that breaks down drops its answer, which its request reports; the worker goes on.
        let _ = std::panic::catch_unwind(std::panic::AssertUnwindSafe(task));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pool(workers: usize, queued: usize, limit: Duration) -> Pool {
        Pool::new("test", workers, queued, limit).expect("threads")
    }

    const LONG: Duration = Duration::from_secs(30);

    #[tokio::test]
    async fn a_full_queue_is_refused_and_drains() {
        let pool = pool(1, 1, LONG);
        let (go, gate) = std::sync::mpsc::channel::<()>();
        let (begun, running) = std::sync::mpsc::channel();
        pool.submit(Box::new(move || {
            let _ = begun.send(());
            let _ = gate.recv();
        }))
        .expect("room");
        running.recv().expect("it runs");
        pool.submit(Box::new(|| ())).expect("room for one more");
        let refused = pool.run(|_| 1).await.expect_err("full");
        assert_eq!(refused.status(), StatusCode::TOO_MANY_REQUESTS);
        go.send(()).expect("it waits");
        while pool.submit(Box::new(|| ())).is_err() {
            tokio::task::yield_now().await;
        }
    }

    #[tokio::test]
    async fn what_breaks_down_or_takes_too_long_is_told_and_the_pool_goes_on() {
        let quick = pool(1, 4, Duration::from_millis(20));
        let (stopped, heard) = std::sync::mpsc::channel();
        let late = quick
            .run(move |wanted| {
                while !wanted.given_up() {
                    std::thread::yield_now();
                }
                let _ = stopped.send(());
            })
            .await
            .expect_err("too long");
        assert_eq!(late.status(), StatusCode::SERVICE_UNAVAILABLE);
        heard.recv().expect("the work was told to stop");
        let pool = pool(1, 4, LONG);
        let broken = pool.run(|_| -> u8 { std::panic::resume_unwind(Box::new("a fault")) }).await.expect_err("broken");
        assert_eq!(broken.status(), StatusCode::INTERNAL_SERVER_ERROR);
        assert_eq!(pool.run(|_| 7).await.ok(), Some(7));
    }

    #[tokio::test]
    async fn work_that_nobody_waits_for_is_not_begun() {
        let pool = pool(1, 4, LONG);
        let (go, gate) = std::sync::mpsc::channel::<()>();
        pool.submit(Box::new(move || gate.recv().unwrap_or_default())).expect("room");
        let (ran, heard) = std::sync::mpsc::channel();
        let waiting = pool.run(move |_| ran.send(()));
        assert!(tokio::time::timeout(Duration::from_millis(5), waiting).await.is_err(), "still queued");
        go.send(()).expect("it waits");
        assert_eq!(pool.run(|_| 1).await.ok(), Some(1));
        assert!(heard.recv().is_err(), "dropped before it began");
    }
}
