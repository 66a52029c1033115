//! Reading a trace: the same however it is cut, unmoved by nonsense, right where it is plain.

#[path = "../signal/generator/mod.rs"]
#[allow(dead_code)]
mod generator;
#[path = "../signal/reading.rs"]
#[allow(dead_code)]
mod reading;

mod faults;
mod hostile;
mod stories;

use generator::session::{Session, Wishes};

#[test]
fn the_same_samples_in_blocks_of_any_size_are_the_same_pulls_to_the_bit() {
    let mut pulls = 0;
    for seed in 1..13 {
        let wishes = Wishes { rotation: seed % 2 == 0, wide: seed % 3 == 0, ..Wishes::default() };
        let session = Session::seeded(seed, wishes);
        let text = |size| format!("{:?}", reading::read(&session, size));
        let whole = text(10_000);
        for size in [1, 7, 100] {
            assert!(text(size) == whole, "seed {seed} differs in blocks of {size}");
        }
        pulls += reading::read(&session, 10_000).len();
    }
    assert!(pulls > 150, "{pulls} pulls were compared");
}
