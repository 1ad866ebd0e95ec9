//! Timing: contenders take turns within each round, and the median over rounds counts. Ratios within one run hold; single
//! figures depend on the machine and on what else runs on it.

use std::hint::black_box;
use std::time::{Duration, Instant};

/// Something to be timed.
pub struct Contender<'a> {
    /// What the table calls it.
    pub name: &'static str,
    run: Box<dyn FnMut() + 'a>,
    times: Vec<Duration>,
    repeats: u32,
}

impl<'a> Contender<'a> {
    /// Times `run`; its result is kept from being optimised away.
    pub fn new<T>(name: &'static str, mut run: impl FnMut() -> T + 'a) -> Contender<'a> {
        let run = Box::new(move || {
            black_box(run());
        });
        Contender { name, run, times: Vec::new(), repeats: 1 }
    }

    /// The median time of one run.
    pub fn median(&self) -> Duration {
        let mut times = self.times.clone();
        times.sort();
        times.get(times.len() / 2).copied().unwrap_or_default()
    }
}

/// The least time one measurement spans; shorter runs are repeated within it.
const LEAST: Duration = Duration::from_millis(3);

/// Runs all contenders in turns, `rounds` times, after one round that only finds out how often short ones are repeated.
pub fn take_turns(contenders: &mut [Contender<'_>], rounds: usize) {
    for contender in &mut *contenders {
        let mut spent = Duration::ZERO;
        let mut runs = 0;
        while spent < LEAST {
            let start = Instant::now();
            (contender.run)();
            spent += start.elapsed();
            runs += 1;
        }
        contender.repeats = runs;
    }
    for _ in 0..rounds {
        for contender in &mut *contenders {
            let start = Instant::now();
            for _ in 0..contender.repeats {
                (contender.run)();
            }
            contender.times.push(start.elapsed() / contender.repeats);
        }
    }
}

/// A time with three figures.
pub fn shown(time: Duration) -> String {
    let nanos = time.as_nanos() as f64;
    if nanos < 1e3 {
        format!("{nanos:.0} ns")
    } else if nanos < 1e6 {
        format!("{:.1} us", nanos / 1e3)
    } else {
        format!("{:.1} ms", nanos / 1e6)
    }
}

/// One time as a multiple of another.
pub fn ratio(of: Duration, to: Duration) -> f64 {
    of.as_secs_f64() / to.as_secs_f64().max(1e-12)
}
