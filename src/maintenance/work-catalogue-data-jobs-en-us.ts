/** What a person reads of one job. */
export interface JobText {
  readonly title: string
  /** The job itself; isolation before it and return to service after it are added from their own lists. */
  readonly steps: readonly string[]
  readonly tools: readonly string[]
  /** How to see that the job worked. */
  readonly verification: string
}

/** Jobs in plain words; [CP] throughout, sources of single values beside them. */
export const JOB_TEXTS_EN_US: Readonly<Record<string, JobText>> = {
  'clean-nozzle': {
    title: 'Clean the flux nozzle',
    steps: ['Remove the tip and soak it in the cleaner for 30 min, or wash it in the machine if that is allowed.', 'Clean it with a soft brush, never with a steel pin.', 'Refit at the mark and purge into a closed container.'],
    tools: ['tip key', 'soft brush', 'tray', 'spare tip'],
    verification: 'Paper test even; flow at the same pressure within 5 % of the clean baseline.',
  },
  'align-nozzle': {
    title: 'Align the flux nozzle',
    steps: ['Set the nozzle with the jig or to its mark.', 'Tighten the lock screw and mark the position.'],
    tools: ['alignment gauge', 'marker'],
    verification: 'Paper test the same left and right.',
  },
  'replace-seals': {
    title: 'Replace O-rings and valve seals',
    steps: ['Replace the seals with ones that stand flux and cleaner.', 'Look at the seats for scratches and clean them.'],
    tools: ['seal pick', 'seal kit', 'lint-free cloth'],
    verification: 'Pressure held for 5 min with less than 5 % loss.',
  },
  'swap-exhaust-filter': {
    title: 'Swap the exhaust filter and wipe the hood',
    steps: ['Put in the clean spare set and wash the dirty one away from the line.', 'Wipe the hood and open the duct where it can be opened: look for residue.', 'Let the washed set dry fully before it is stored.'],
    tools: ['clean filter set', 'tray', 'cloths', 'closed waste container'],
    verification: 'Exhaust pressure back at its baseline; no drops at the hood.',
  },
  'replace-flux-hose': {
    title: 'Flush or replace the flux hose',
    steps: ['Flush the hose; if it is kinked, hard or stays dirty, replace it.', 'Route it so that it does not bend tightly at either end of the stroke.'],
    tools: ['hose and fittings', 'hose cutter'],
    verification: 'The same flow at both ends of the stroke.',
  },
  'calibrate-dosing': {
    title: 'Calibrate the flux dose',
    steps: ['Weigh the dose on a card and compare it with the recipe.', 'Correct the dosing as the manual says and write the old and the new value down.', 'Judge the deposit per area: any gap fails, excess fails.'],
    tools: ['scale 0.01 g', 'cards', 'test paper'],
    verification: 'Dose within 10 % of the recipe; paper without a gap.',
  },
  'set-spray-stroke': {
    title: 'Set the spray stroke',
    steps: ['Set the stroke to the board and 5 to 10 mm on each side.', 'Check the sensor that finds the board edges.'],
    tools: ['test paper', 'steel rule'],
    verification: 'Chain and fingers dry after the fluxer.',
  },
  'clean-blower': {
    title: 'Clean the blower and fan wheel',
    steps: ['Have a licensed electrician disconnect the motor where its wiring is in the way.', 'Remove the housing; clean the blades on both sides without moving the balance weights.', 'Wash housings in the machine, never motors. Dry before refitting.'],
    tools: ['hand tools', 'brush', 'vacuum with HEPA filter', 'mirror'],
    verification: 'Blower current and board temperature at the end of preheat back at their baseline; no vibration.',
  },
  'clean-emitters': {
    title: 'Clean emitters, rods and glass',
    steps: ['Glass: lift residue with the scraper, then the cleaner.', 'Rods and ceramic: wipe only, no liquid on porous parts.', 'Let everything dry fully.'],
    tools: ['scraper', 'lint-free cloth', 'cleaner'],
    verification: 'Board temperature at the end of preheat back at its baseline.',
  },
  'clean-vents': {
    title: 'Clean vents and perforated plates',
    steps: ['Take out the plates, put in clean spares if there are any.', 'Soak or wash them and clear every hole.', 'Dry and refit.'],
    tools: ['spare plates', 'soft brush', 'tray', 'air velocity meter'],
    verification: 'Air velocity within 15 % over the width.',
  },
  'clean-thermocouple': {
    title: 'Clean the thermocouple',
    steps: ['Mark its depth before you touch it.', 'Wipe it with the cleaner; do not bend it.', 'Leave it at the same depth. A lump that stays or a damaged sheath: replace it.'],
    tools: ['lint-free cloth', 'cleaner', 'marker'],
    verification: 'At the next start or set-point step it follows as fast as it used to; it agrees with a reference probe.',
  },
  'replace-thermocouple': {
    title: 'Replace the thermocouple if wiping does not help',
    steps: ['A licensed electrician replaces it with the same type and sheath.', 'Refit to the marked depth and note the change in the log.'],
    tools: ['spare thermocouple', 'reference probe'],
    verification: 'It agrees with a reference probe and follows a set-point step as fast as it used to.',
  },
  'replace-element': {
    title: 'Replace the heating element',
    steps: ['A licensed electrician measures each phase first: a third missing may be a fuse.', 'Replace the element with the same rating.', 'Note the change; the warm-up time starts a new history.'],
    tools: ['clamp meter', 'spare element'],
    verification: 'Warm-up time back at its baseline.',
  },
  'clean-rails': {
    title: 'Clean the rails',
    steps: ['Scrape with plastic or brass, from the clean end to the dirty end.', 'Wipe with the cleaner, then dry.', 'Put on a dry film only where the manual asks for one.'],
    tools: ['plastic or brass scraper', 'cloths', 'cleaner'],
    verification: 'Motor current back at its baseline; the white cloth stays white.',
  },
  'clean-chain': {
    title: 'Clean the chain',
    steps: [
      'Clean in place with the brush unit, or take the chain off and wash it. In a washing machine it takes 1 to 4 hours in all; by hand a chain left alone for long takes about two days.',
      'Rinse, blow out the joints into an enclosure, dry warm at 60 to 80 °C for 20 to 30 min.',
      'Lubricate at once, within the hour, while it is slightly warm: the next job.',
    ],
    tools: ['brush unit or washing machine', 'cleaner', 'drying cabinet', 'lubricant ready at hand'],
    verification: 'After lubrication: motor current and speed back at their baseline, no jumps over two loops.',
  },
  'lubricate-chain': {
    title: 'Lubricate the chain',
    steps: [
      'Use the product specified for the hottest place of the chain, silicone-free. Never mix two products: strip the old one first.',
      'Put a small amount on pins and rollers with the chain stopped and cold, or as the lubricant says.',
      'Wipe off the excess, run 2 to 3 loops empty, stop, isolate and wipe again. Note product and lot.',
    ],
    tools: ['applicator', 'specified lubricant', 'lint-free cloths'],
    verification: 'Motor current falls within the hour.',
  },
  'clean-fingers': {
    title: 'Clean or swap the fingers',
    steps: ['Swap in a clean set if there is one and wash the dirty set.', 'Brush the rest; replace bent fingers.', 'Fill the reservoir of the finger cleaner.'],
    tools: ['spare fingers', 'go/no-go gauge', 'brush'],
    verification: 'Side-to-side difference of dwell below 0.2 s with the glass plate.',
  },
  'replace-chain-and-sprockets': {
    title: 'Replace chain and sprockets together',
    steps: ['Measure over at least 20 links: replace at 3 % elongation, at 1.5 % on fixed centers.', 'Replace chain and sprockets together and set the take-up.', 'Lubricate before the first run: the next job.'],
    tools: ['caliper', 'puller', 'chain and sprockets'],
    verification: 'The periodic change of speed is gone; motor current at its baseline.',
  },
  'replace-bearing': {
    title: 'Replace the bearing',
    steps: ['Find the warm or noisy bearing and check its partner.', 'Replace it and grease it with the product specified for its temperature.'],
    tools: ['puller', 'bearing', 'specified grease'],
    verification: 'No noise or heat; motor current at its baseline.',
  },
  'repair-drive': {
    title: 'Repair the drive',
    steps: ['Check coupling and gearbox for play and oil.', 'A licensed electrician checks motor and drive.', 'Do not raise the speed set-point to make up for it.'],
    tools: ['hand tools', 'spare motor or gearbox'],
    verification: 'Speed at its set-point under load; motor current at its baseline.',
  },
  'skim-dross': {
    title: 'Skim the dross',
    steps: ['Skim slowly with a dry, warm skimmer, wave off.', 'Put the dross into a closed, labeled container.', 'Look at the level again afterward.'],
    tools: ['skimmer', 'closed dross container'],
    verification: 'Surface bright; the wave even; pump speed for the same wave back at its baseline.',
  },
  'top-up-pot': {
    title: 'Top up the pot',
    steps: ['Skim first if dross lies on the surface.', 'Add dry, pre-warmed bars of the same certified alloy, gently and one at a time.', 'Wait until the temperature is back before the next board.'],
    tools: ['dry bars of the same alloy', 'tongs'],
    verification: 'Level in its band, pot temperature back.',
  },
  'strip-pump': {
    title: 'Strip and clean pump, nozzles and baffles',
    steps: ['Lift pump and nozzles out as the manual says, drain over the pot.', 'Scrape baffles, intake and nozzles.', 'Refit dry and warm.'],
    tools: ['hoist or second person', 'hooks', 'scraper', 'closed dross container'],
    verification: 'Pump speed for the usual wave back at its baseline.',
  },
  'replace-pot-probe': {
    title: 'Replace the pot thermocouple',
    steps: ['Compare with a reference probe at the same depth, wave on.', 'A licensed electrician replaces the probe.', 'Enter an offset only with a signed record.'],
    tools: ['reference probe', 'spare probe'],
    verification: 'Less than 2 °C of difference to the reference probe.',
  },
  'replace-pot-element': {
    title: 'Replace the pot heating element',
    steps: ['A licensed electrician measures each phase and replaces the element with the same rating.', 'Heat up slowly as the manual says.'],
    tools: ['clamp meter', 'spare element'],
    verification: 'Duty at idle and warm-up time of the pot back at their baseline.',
  },
  'sample-bath': {
    title: 'Take a sample of the solder bath',
    steps: ['Stir, take the sample from below the surface with a dry, warm ladle.', 'Send it to the laboratory, about every 30 days.'],
    tools: ['ladle', 'sample mold'],
    verification: 'Report within the limits of the contract standard.',
  },
}
