//! Speed of the heating models: the staged balance, the layer model to ignition, and all
//! ways of one batch from its file.
#![allow(clippy::unwrap_used, missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use emberpot::internal::ignition::Slab;
use emberpot::internal::ignition::lumped;
use emberpot::internal::ignition::model_inputs;
use emberpot::{Batch, Tables, all_ways};
use std::hint::black_box;

const BATCH: &str = include_str!("../examples/zinc-aluminate-blue.toml");

fn heating(c: &mut Criterion) {
    let tables = Tables::built_in().unwrap();
    let batch = Batch::parse(BATCH, "zinc-aluminate-blue.toml", &tables).unwrap();
    for way in ["microwave oven", "muffle furnace", "flame"] {
        let inputs = model_inputs(&batch, &tables, Some(way)).unwrap();
        c.bench_function(&format!("staged balance, {way}"), |b| {
            b.iter(|| {
                lumped(
                    black_box(&inputs.charge),
                    &inputs.wall,
                    &inputs.heater,
                    &inputs.settings,
                )
                .unwrap()
            });
        });
        let slab = Slab::new(
            &inputs.charge,
            &inputs.wall,
            &inputs.heater,
            inputs.settings,
        )
        .unwrap();
        let run = slab.run().unwrap();
        let cells = run.state.cells.len();
        println!(
            "{way}: {} steps, {} iterations, {cells} cells",
            run.steps, run.iterations
        );
        c.bench_function(&format!("layer of {cells} cells, {way}"), |b| {
            b.iter(|| black_box(&slab).run().unwrap());
        });
    }
    c.bench_function("all ways of a batch", |b| {
        b.iter(|| all_ways(black_box(&batch), &tables).unwrap());
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20).measurement_time(std::time::Duration::from_secs(2));
    targets = heating
}
criterion_main!(benches);
