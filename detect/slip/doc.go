// Package slip knows the slip of the converter clutch: read with a vehicle profile, or estimated.
//
// [Apparent] estimates it, n − v·e^x: n is engine speed, v road speed, and x is the lowest ln(n/v)
// that was held in the gear. [Watch] judges slip, read or estimated, in the seconds that the detector
// judges: it swings by 40 rpm plus twice its uncertainty, with a mean of at most 150 rpm.
package slip
