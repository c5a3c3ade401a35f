use emberpot::batch::Batch;
use emberpot::ignition::{Outcome, all_ways};
use emberpot::tables::Tables;
use uom::si::ratio::percent;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::time::second;

fn show(text: &str) {
    let tables = Tables::built_in().unwrap();
    let batch = Batch::parse(text, "t", &tables).unwrap_or_else(|e| panic!("{e}"));
    let t0 = std::time::Instant::now();
    let c = all_ways(&batch, &tables).unwrap();
    println!(
        "== {:?} phi {:?}",
        t0.elapsed(),
        batch.redox().unwrap().equivalence_ratio
    );
    for w in &c.ways {
        match &w.course {
            Ok(c) => {
                println!(
                    "{}: {:?} staged {:?}",
                    w.way,
                    match &c.outcome {
                        Outcome::Ignites {
                            time,
                            place,
                            temperature,
                        } => format!(
                            "ignites {:.0}s {place} {:.0}C",
                            time.get::<second>(),
                            temperature.get::<degree_celsius>()
                        ),
                        Outcome::Fails { time, reason } =>
                            format!("fails {:.0}s {reason}", time.get::<second>()),
                    },
                    c.staged_time.map(|t| t.get::<second>())
                );
                for s in &c.stages {
                    print!(
                        "  {} {:.0}-{:.0}s {:.0}C;",
                        s.name,
                        s.start.get::<second>(),
                        s.end.get::<second>(),
                        s.temperature.get::<degree_celsius>()
                    );
                }
                println!();
                println!(
                    "  water left {:.1}% free {:.1} hyd {:.1} start {:.0}C dT {:.1} lost {:.1}% wet {:.0}% P {:.0} W; burn {:?} loss {:.0}-{:.0}% {:.1}-{:.0}s cool {:?} from {:.0}C depth {:?} gel {:?} crit {:?} floor {:.0}C steps {} imb {:e}",
                    c.water_left.get::<percent>(),
                    c.free_water_left.get::<percent>(),
                    c.hydrate_water_left.get::<percent>(),
                    c.start_temperature.get::<degree_celsius>(),
                    c.wall_minus_centre.value,
                    c.fuel_lost.get::<percent>(),
                    c.still_wet.get::<percent>(),
                    c.energy.mean_power.value,
                    c.burn.flame.map(|t| t.value),
                    c.burn.heat_loss.0.get::<percent>(),
                    c.burn.heat_loss.1.get::<percent>(),
                    c.burn.duration.0.value,
                    c.burn.duration.1.value,
                    c.cooling.time.map(|t| t.value),
                    c.cooling.from.get::<degree_celsius>(),
                    c.layer.solution_depth.value,
                    c.layer.gel_depth.value,
                    c.layer.critical_depth.map(|x| x.value),
                    c.floor_hottest.get::<degree_celsius>(),
                    c.steps,
                    c.energy.imbalance.value
                );
                if let Some(m) = &c.microwave {
                    println!("  {m:?}");
                }
            }
            Err(e) => println!("{}: {e}", w.way),
        }
    }
    println!("{}", c.reasons);
}

#[test]
fn probe() {
    show(
        "[[ingredient]]\nsubstance=\"Al(NO3)3·9H2O\"\nmass=\"20 g\"\n[[ingredient]]\nsubstance=\"urea\"\nmass=\"8 g\"\n[[ingredient]]\nsubstance=\"water\"\nmass=\"15 g\"\n[heating]\nway=\"furnace\"\ndiameter=\"90 mm\"\n",
    );
    show(
        "[[ingredient]]\nsubstance=\"nickel(II) nitrate hexahydrate\"\nmass=\"8.7 g\"\n[[ingredient]]\nsubstance=\"glycine\"\nmass=\"2.5 g\"\n[[ingredient]]\nsubstance=\"water\"\nmass=\"30 g\"\n[heating]\nway=\"hot plate\"\ndiameter=\"80 mm\"\n",
    );
    show(
        "[[ingredient]]\nsubstance=\"iron(III) nitrate nonahydrate\"\nmass=\"8 g\"\n[[ingredient]]\nsubstance=\"citric acid monohydrate\"\nmass=\"4.2 g\"\n[[ingredient]]\nsubstance=\"water\"\nmass=\"20 g\"\n",
    );
}
#[test]
fn flame_citric() {
    let tables = Tables::built_in().unwrap();
    let batch = Batch::parse("[[ingredient]]\nsubstance=\"iron(III) nitrate nonahydrate\"\nmass=\"8 g\"\n[[ingredient]]\nsubstance=\"citric acid monohydrate\"\nmass=\"4.2 g\"\n[[ingredient]]\nsubstance=\"water\"\nmass=\"20 g\"\n", "t", &tables).unwrap();
    let c = emberpot::ignition::course(&batch, &tables, Some("flame")).unwrap();
    for p in c.samples.iter().rev().take(25) {
        println!(
            "{:.4} {:.1} {:.1} {:.1} {:.4}",
            p.time.value, p.coldest.value, p.mean.value, p.hottest.value, p.water_left.value
        );
    }
}
