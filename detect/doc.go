// Package detect looks for shudder: engine speed that swings at a steady throttle. It never reads
// a clock; time comes with the samples. The numbers are those of [Tuning], where each has its unit
// and its source; detect/bench measures what they are worth.
//
// # What is read
//
// Readings nearer than 0.045 s are averaged: an ECU gives the mean of a firing segment to a
// revolution, up to 0.1 s, and a fast link reads it more than once. Repeats, single zeros of a
// faulty link and the 16383.75 rpm of a sleeping ECU are dropped.
//
// # What is judged
//
// Five times a second the detector looks back. A look is judged when the engine has run for 5 s
// since a start and 1 s since a gap, road speed is 30 to 115 km/h and within 3 km/h for 2 s, driver demand
// (throttle, else pedal) is not at rest and within 3.5 % for 1.5 s, and ln(engine speed ÷ road speed)
// moved by less than 0.14 in 1 s. Else the first that fails is the [Reason]. A cold engine is judged,
// and the event carries its temperature. No window reaches back beyond 0.5 s before demand was last
// outside its 3.5 %, or the ratio outside its 0.14: about 1 s after either moved.
//
// # The scatter
//
// Engine speed adds up the torque of single combustions and forgets it within about a second, so that
// it wanders; what the ECU averages and rounds is quick beside that. A second apart readings differ by
// three to six times as much as a tenth of a second apart, in both worlds of the bench and in a real
// minute. Taken for independent, they would show waves of 1 Hz that are only wander, and hide those of 4 Hz.
//
//	scatter   c · u² · (wander + quick² where two readings are one)
//	wander    (m·e^(−τ/m) − s·e^(−τ/s)) ÷ (m − s)     m = 0.7 s, s = 0.08 s, τ between two readings
//	c         such that readings ten times a second have the r.m.s. u about a parabola over 1.6 s
//	quick     0.1, 0.25, 0.5 or 1.2, whichever is likeliest by the looks under this load: the
//	          colour of the scatter
//
// Each reading is replaced by what those before it do not foretell, over its s.d.: a Kalman filter of the
// wander, exact at any times (noise.go). Every column of a fit is treated alike, so that least squares
// are right.
//
// # The floor
//
// u is the size of this car's own scatter under this load, rpm; of readings ten times a second it is the
// r.m.s. about a parabola over 1.6 s. It is looked at whenever the engine pulls and the ratio holds.
// Each look is kept with its engine load; u is the 65 % quantile of those of steady cruise within 6 % of
// the load of now (12 % where there are few), or where there are few of those too, of all pulling. A
// misfire that comes only under load is then the floor of that load. A look that shows a wave of 47 rpm
// and more by itself (E′ ≥ 5, below) gives what the wave leaves: a car that always shakes does not hide
// behind its own shudder. A load that was never met is not judged yet ([LoadNotLearnt]),
// unless E′ ≥ 12 and the wave has 70 rpm. Looks of the last 3 s wait, and an alarm drops them.
//
// # The evidence
//
// Five windows end now: 1.1 s · 1.4ᵏ, up to 4.2 s, of at least 11 readings; below 7
// readings a second a sixth, up to 5.9 s. Each is explained twice, by least squares on the true times:
//
//	healthy  a + b·t + c·t²    or that and a wave of 0.2 to 0.75 Hz, which may drift,
//	                           or that and a step
//	shaking  a + b·t + c·t² + (A + A′·t)·cos 2πft + (B + B′·t)·sin 2πft      f from 1 to 6.5 Hz
//	         and, with four readings to a cycle, + C·cos 4πft + D·sin 4πft
//
//	rpm    .    _      _          a window of 2 s: the parabola (–) is a hill, the wave is 2 Hz,
//	      / \  / \    / \  .      100 rpm peak to peak. Steps or a slow wave leave more of it, so
//	  ---/---\/---\--/---\/--     the evidence is for shaking.
//	    '     '    \_/    '
//	    |<--- 1.1 s · 1.4ᵏ ->|now
//
// Three things tell how large the scatter is: the window; the floor, worth 12 readings; and the 3 s before
// the window (16 readings at least), of which a parabola and a wave of the window's frequency, which may
// drift, leave q, with p readings beyond those seven parameters. A burst stands out from a quiet run before it; a rough road that lasts does not. With s
// readings beyond the parameters of shaking, and Q the sum of squares that an explanation leaves, the
// evidence in natural units is
//
//	E  = (s + 12 + p)/2 · ln((Q healthy + 12·u² + q) ÷ (Q shaking + 12·u² + q))
//	E′ =            s/2 · ln( Q healthy              ÷  Q shaking             )
//
// E′ knows the window alone.
//
// A blow, a step at the edge or a lost reading can be fitted with a wave as well, but its evidence
// is in one place. So 1.2 cycles, and 0.45 s at least, are taken out wherever they take most of
// the evidence away, and E is reckoned again for the same wave in what stays: E beside.
//
// # The rule
//
// A look wants of one window E ≥ 14 (falling to 11 from 7 to 3 readings a second) and E beside ≥ 5, a
// wave that, before the ECU and the averaging made it smaller, is at least 47 rpm peak to peak and 1.5
// times the floor (as the peak to peak of a wave of that r.m.s.), and a swing that lasts 0.6 s. What its
// best window has beyond the nats that are wanted is the look's margin, −6 at least. There is an alarm
// when the margins of the last three looks come to 0 or more together.
//
// Start, end and size of an event come from its envelope: about each reading, line and wave are
// fitted to one period; the event lasts where that wave has half of its largest height.
//
// # What follows
//
// Alarms less than 2.5 s apart are one [Event]. Slow waves, repeated steps of the ratio and
// movement without a wave are an [Observation]. "No shudder" needs 30 s judged at 9 readings a
// second, in three passes, and a smallest swing of 100 rpm or less in half of the judged time. It
// is not said of a car that does not keep to a few ratios of engine to road speed: e to the
// entropy of ln ratio, in cells of 2 %, is above 15.
package detect
