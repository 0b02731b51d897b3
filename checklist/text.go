package checklist

import "strconv"

// Every sentence of a gate stands here, so that another language is another
// table. {1}, {2}, ... are filled in: names as they stand, values as marks
// (⟨t:..⟩ a moment, ⟨c:..⟩ a temperature, ⟨k:..⟩ a difference, ⟨h:..⟩ hours and
// minutes) that the edge turns into text. At most a dozen words each, the fact
// first.
type sentence uint8

const (
	sayNothing sentence = iota
	sayStart
	sayStarted
	sayNotFinished
	sayZoneLaid
	sayDoneAt
	sayFirst
	sayDoFirst
	sayNoRules
	sayGetRules
	sayAgainStale
	sayAgainSpoiled
	sayAgain
	sayWhile
	sayEndIt
	sayWipeGood
	sayLaid
	sayBare
	sayFinding
	sayOwnerMustAnswer
	saySignature
	sayMustSign
	sayInspected
	sayNotStarted
	sayWashFirst
	sayOutside
	sayBringIn
	sayNoSpots
	sayAddSpot
	sayNeverRead
	sayReadToStart
	sayWet
	sayWetOut
	sayWetThen
	saySilent
	sayNotReceived
	sayNoAir
	sayReadAir
	sayNeedsReading
	sayReadSpot
	sayRunning
	sayRunningIf
	sayPausedCold
	sayPausedMargin
	sayPausedDamp
	sayPausedEvent
	sayPausedThen
	sayHeat
	sayDryAir
	sayBlowOut
	sayAfterWater
	sayDried
	sayOnce
	sayReadAgain
	sayStripWet
	sayDrawAgain
	sayOutsideLong
	sayMoveUnknown
	sayDrawStrips
	sayMoreHours
	sayReadToOpen
	sayLastRead
	sayCold
	sayColdError
	sayColdThen
	sayHot
	sayShade
	sayHotThen
	sayMargin
	sayUnderDew
	sayMarginThen
	sayAirCold
	sayAirHot
	sayAirThen
	sayApart
	sayApartThen
	sayLetSettle
	sayWarm
	sayTestFailed
	sayTestAgain
	sayTestPassed
	sayPrimerTime
	sayPrimerTest
	sayPrimerGood
	sayPrimerCold
	sayPrimerOld
	sayCleanOff
	sayWaived
	sayAfterClock
	sayBladeLook
	sayBladeIn
	saySigned
	sayAsk
	sayNoFeature
	sayMeasured
	sayMeasure
	sayMeasureHow
	sayNoFilm
	sayTypeFilm
	sayFilmIs
	sayNoBatch
	sayNoFamily
	sayNoStay
	sayTypeMonths
	sayRefused
	sayRefusedOn
	sayOwnersChoice
	sayOverStop
	sayNotThisFilm
	sayPlanIt
	sayTestStrip
	sayStripHow
	sayFreshPaint
	sayFreshOut
	sayTooEarly
	sayMaybeEarly
	sayVouchOr
	sayFitAll
	sayFitAllOut
	sayPlate
	sayNoPlate
	sayWrongProof
	sayAskLead
	sayLapForward
	sayCircle
	sayLapUnder
	sayTrialsShort
	sayPaintUnknown
	sayPatchNone
	sayHeatShort
	saySameHand
	sayOtherHand
	sayRisen
	sayCounted
	sayTouchedUp
	sayFactory
	sayPaintWaited
	sayPaintWait
	sayKeepWarm
	sayPaintThen
	sayPatchGas
	sayPatchRepeat
	sayPatchAgain
	sayPatchOn
	sayPatchLook
	sayPatchUnwritten
	sayPatchWrite
	sayPatchUnread
	sayPatchCold
	sayPatchWarm
	sayPatchShort
	sayPatchLeave
	sayPatchFew
	sayPatchThickest
	sayPatchHot
	sayPatchCycle
	sayPatchLamp
	sayPaintOff
	sayOwnerPaint
	sayTrialSun
	sayTrialRepaint
	sayTrialWhich
	sayPeeled
	sayPeeledOut
	sayOldStays
	sayGrabs
	sayPullWarm
	sayHeatDamage
	sayHeatLook
	sayRivetsShort
	sayHeatCold
	sayHeatUnknown
	sayHeatRead
	sayHeated
	sayClosePin
	sayGapCut
	sayKeepClear
	sayBags
	sayBagsOut
	sayPutRight
	sayRestFrom
	sayLayAll
	sayRested
	sayRestUnread
	sayRestPaused
	sayRestCold
	sayResting
	sayRestingIf
	sayRestAgain
	sayEarlyRelease
	sayCountedEarly
	sayFindCause
	sayLate
	sayRecessPhotos
	sayEarlySign
	sayLaidUnwiped
	sayLaidOld
	sayLaidUnbegun
	sayLaidSpoiled
	sayLaidOut
	sayLaidNoPhoto
	sayHalfLaid
	sayPrimedInTime
	sayWipedInTime
	sentences
)

var english = [sentences]string{
	sayStart:           "Start now: {1}.",
	sayStarted:         "Started {1}.",
	sayNotFinished:     "{1} begun {2}, not finished.",
	sayZoneLaid:        "Every panel here is laid.",
	sayDoneAt:          "{1}: done {2}.",
	sayFirst:           "{1} is not done.",
	sayDoFirst:         "{1} first.",
	sayNoRules:         "The shop's numbers for this job are not on this device.",
	sayGetRules:        "Go online once to fetch them.",
	sayAgainStale:      "{1} again: too old since {2}.",
	sayAgainSpoiled:    "{1} again: {2} at {3}.",
	sayAgain:           "{1} again.",
	sayWhile:           "Spoiled: {1} since {2}.",
	sayEndIt:           "End that first, then: {1} again.",
	sayWipeGood:        "Wiped. Good until {1}.",
	sayLaid:            "Laid {1}.",
	sayBare:            "Stays bare: owner said no.",
	sayFinding:         "{1} on {2}.",
	sayOwnerMustAnswer: "Owner must answer, or the panel stays bare.",
	saySignature:       "Signature missing: {1}.",
	sayMustSign:        "Let the {1} sign.",
	sayInspected:       "Looked over, answered and signed.",
	sayNotStarted:      "Not dry. Hours count after the wash.",
	sayWashFirst:       "Finish the wash.",
	sayOutside:         "Stands outside: {1}. Hours do not count.",
	sayBringIn:         "Bring it in, then read the coldest spot.",
	sayNoSpots:         "No reading spot in zone {1}.",
	sayAddSpot:         "Stick a numbered dot there and read it.",
	sayNeverRead:       "{1} was never read.",
	sayReadToStart:     "Read {1} to start the hours.",
	sayWet:             "Wet: {1} {2}, dew point {3}. Drying starts over.",
	sayWetOut:          "Flush with outside air, then vented heat. Read again.",
	sayWetThen:         "{1} counted after {2} is {3} above the dew point.",
	saySilent:          "Not known since {1}: logger silent.",
	sayNotReceived:     "Not received since {1}.",
	sayNoAir:           "No air reading in {1}.",
	sayReadAir:         "Read air and humidity in {1}.",
	sayNeedsReading:    "{1} of {2} counted. Hours since {3} need a reading.",
	sayReadSpot:        "Read {1}.",
	sayRunning:         "Drying: {1} of {2} counted.",
	sayRunningIf:       "If it stays warm and dry.",
	sayPausedCold:      "Drying: {1} of {2}. Paused, {3} {4}, under {5}.",
	sayPausedMargin:    "Drying: {1} of {2}. Paused, {3} {4} above dew point.",
	sayPausedDamp:      "Drying: {1} of {2}. Paused, air too damp.",
	sayPausedEvent:     "Drying: {1} of {2}. Paused, {3} since {4}.",
	sayPausedThen:      "{1} more counted after that ends.",
	sayHeat:            "Heat the bay, then read {1}.",
	sayDryAir:          "Extract or vent until the air is drier.",
	sayBlowOut:         "Blow out the seams: then {1} are enough.",
	sayAfterWater:      "Or {1} after the last water, {2} card strips dry.",
	sayDried:           "Dry: {1} counted, {2} needed.",
	sayOnce:            "{1} {2}, under the dew point {3}, once.",
	sayReadAgain:       "Read {1} again.",
	sayStripWet:        "A card strip came out wet.",
	sayDrawAgain:       "Dry on, then draw {1} strips again.",
	sayOutsideLong:     "Stood outside for {1}. Frost seen?",
	sayMoveUnknown:     "Rain on the way in? Nobody knows.",
	sayDrawStrips:      "Draw {1} card strips; all dry, old hours count.",
	sayMoreHours:       "{1} of {2} counted after: {3}.",
	sayReadToOpen:      "Read {1} to open.",
	sayLastRead:        "{1}: last read {2}.",
	sayCold:            "Too cold: {1} {2}, at least {3}.",
	sayColdError:       "{1} {2}: only the instrument's error of {3} stops it.",
	sayColdThen:        "When {1} reaches {2}.",
	sayHot:             "Too hot: {1} {2}, at most {3}.",
	sayShade:           "Let it cool, then read {1}.",
	sayHotThen:         "When {1} is down to {2}.",
	sayMargin:          "{1} {2}, dew point {3}: only {4} above.",
	sayUnderDew:        "{1} {2}, under the dew point {3}.",
	sayMarginThen:      "When {1} is {2} above the dew point.",
	sayAirCold:         "Air {1}, at least {2}.",
	sayAirHot:          "Air {1}, at most {2}.",
	sayAirThen:         "When the air is at {1}.",
	sayApart:           "{1} {2}, air {3}: more than {4} apart.",
	sayApartThen:       "When air and {1} are within {2}.",
	sayLetSettle:       "Let the vehicle warm through, then read {1}.",
	sayWarm:            "Warm enough: {1} {2}, {3} above dew point.",
	sayTestFailed:      "{1} failed at {2}.",
	sayTestAgain:       "Dry on, then test again.",
	sayTestPassed:      "{1} passed at {2}.",
	sayPrimerTime:      "Primer tack-dry at {1}, at {2}.",
	sayPrimerTest:      "Then test with a gloved knuckle on the edge.",
	sayPrimerGood:      "Primed. Open until {1}.",
	sayPrimerCold:      "Too cold for primer: {1} {2}, at least {3}.",
	sayPrimerOld:       "Primer past its open time since {1}.",
	sayCleanOff:        "Clean it off, let it dry, prime again.",
	sayWaived:          "Go-ahead by the lead: {1}",
	sayAfterClock:      "{1} after: {2}. From {3}.",
	sayBladeLook:       "Look along the cut: is the paint whole?",
	sayBladeIn:         "Blade went into the paint of {1}.",
	saySigned:          "{1}: signed {2}.",
	sayAsk:             "{1} Nobody asked yet.",
	sayNoFeature:       "Nothing measured on {1}.",
	sayMeasured:        "Measured.",
	sayMeasure:         "Measure {1}: width and depth, or the tape's path.",
	sayMeasureHow:      "Rule across the mouth, rod down at the deepest place.",
	sayNoFilm:          "No film for {1} yet.",
	sayTypeFilm:        "Type the film from its box and sheet.",
	sayFilmIs:          "Film: {1}.",
	sayNoBatch:         "Film: {1}. Batch not written down.",
	sayNoFamily:        "Film family {1} is not in the table.",
	sayNoStay:          "Removable adhesive: nobody said how long it stays.",
	sayTypeMonths:      "Type the months that it is to stay.",
	sayRefused:         "{1}.",
	sayRefusedOn:       "Film refused on {1}.",
	sayOwnersChoice:    "Another film, leave it bare, repair, or owner's own risk.",
	sayOverStop:        "{1}: {2} stretch. Inlay or relief cut.",
	sayNotThisFilm:     "{1}: {2} stretch. Too much for this film.",
	sayPlanIt:          "Plan an inlay or a relief cut, or leave it bare.",
	sayTestStrip:       "Test strip on {1} first, for 24 h.",
	sayStripHow:        "Stick a strip, look after 24 h, or leave it bare.",
	sayFreshPaint:      "Fresh paint: {1} of {2} days on {3}.",
	sayFreshOut:        "Wait, test a patch for 24 h, or leave it bare.",
	sayTooEarly:        "{1}: sooner than {2} after {3}.",
	sayMaybeEarly:      "{1}: not surely {2} after {3}.",
	sayVouchOr:         "Lead: vouch for the times, or print it again.",
	sayFitAll:          "Not fitted yet: {1}.",
	sayFitAllOut:       "Fit every panel before the first is laid.",
	sayPlate:           "Photo of the plate beside proof {1}.",
	sayNoPlate:         "The photo of the plate is missing.",
	sayWrongProof:      "Proof {1} is not for this vehicle.",
	sayAskLead:         "Lay nothing. Ask the lead.",
	sayCircle:          "Seams go round: {1}. Strike one.",
	sayLapForward:      "{1} before {2}: its lap faces forward. Lay it all the same?",
	sayLapUnder:        "{2} should lie under {1}. Lay it all the same?",
	sayTrialsShort:     "{1} of {2} trial strips pulled.",
	sayPaintUnknown:    "Nobody said how old the paint is.",
	sayPatchNone:       "No patch test on {1}.",
	sayHeatShort:       "{1} m of {2} m heated.",
	saySameHand:        "Looked at by the hand that laid it.",
	sayOtherHand:       "Let another hand look.",
	sayRisen:           "{1} of {2} risen: over {3} in a hundred.",
	sayCounted:         "{1} of {2} risen, pressed again.",
	sayTouchedUp:       "{1} was touched up: how was it cured?",
	sayFactory:         "Factory paint, sound: no wait, no patch.",
	sayPaintWaited:     "Paint waited: {1} of {2} counted.",
	sayPaintWait:       "Paint: {1} of {2} counted. Cold days count little.",
	sayKeepWarm:        "Keep it warm, or ask the lead.",
	sayPaintThen:       "{1} more at {2} or warmer.",
	sayPatchGas:        "Gas under the patch: wait {1}, until {2}, or leave without film.",
	sayPatchRepeat:     "Then a new patch, warm from the start.",
	sayPatchAgain:      "Gas seen {1}. Put a new patch on.",
	sayPatchOn:         "Patch on since {1}.",
	sayPatchLook:       "Then look at it with light from the side.",
	sayPatchUnwritten:  "Nobody wrote when the patch went on.",
	sayPatchWrite:      "Write it when the next one goes on.",
	sayPatchUnread:     "Patch test not valid: nobody read {1}.",
	sayPatchCold:       "Patch test not valid: {1} stayed under {2}.",
	sayPatchWarm:       "Repeat it at {1} or warmer.",
	sayPatchShort:      "Patch test not valid: {1} of {2}.",
	sayPatchLeave:      "Leave the patch on.",
	sayPatchFew:        "Patch test not valid: {1} of {2} places.",
	sayPatchThickest:   "Add patches, one on the thickest paint.",
	sayPatchHot:        "Patch test not valid: warmed over {1}.",
	sayPatchCycle:      "Patch test not valid: no {1} at {2}.",
	sayPatchLamp:       "Warm the patch with a lamp, then look.",
	sayPaintOff:        "Paint came off {1}: no film there.",
	sayOwnerPaint:      "Owner decides: leave bare, repaint, or own risk.",
	sayTrialSun:        "No strip on a sunny edge yet.",
	sayTrialRepaint:    "{1} was repainted: pull a strip there.",
	sayTrialWhich:      "Which panel was repainted? Pull a strip there.",
	sayPeeled:          "Stop: paint peeled at the strip, {1}.",
	sayPeeledOut:       "Owner signs the risk and the lead says go.",
	sayOldStays:        "Old film stays: owner said so.",
	sayGrabs:           "A glove still grabs on {1}.",
	sayPullWarm:        "Warm it through, and again when it drags.",
	sayHeatDamage:      "Film {1}: it takes harm from {2}.",
	sayHeatLook:        "Look along it. Pin what you see, or write 'nothing seen'.",
	sayRivetsShort:     "{1} of {2} rivets heated.",
	sayHeatCold:        "Film {1}, at least {2}: heat again.",
	sayHeatUnknown:     "Heated, but how warm the film got nobody read.",
	sayHeatRead:        "Heat again, read the film behind the nozzle.",
	sayHeated:          "Heated {1} m, film read {2} times.",
	sayClosePin:        "Do it again, then close the pin.",
	sayGapCut:          "{1}: not cut, or lips not pressed and heated.",
	sayKeepClear:       "{1} must stay free: look and say so.",
	sayBags:            "{1} of {2} trim bags back on.",
	sayBagsOut:         "Find what is in the others.",
	sayPutRight:        "Put it right, then test again.",
	sayRestFrom:        "Rest begins when the last panel is laid.",
	sayLayAll:          "Lay every panel first.",
	sayRested:          "Rested: {1} counted, {2} needed.",
	sayRestUnread:      "Rest counts from readings; there is none.",
	sayRestPaused:      "Rest: {1} of {2}. Paused, {3} since {4}.",
	sayRestCold:        "Rest: {1} of {2}. Paused, {3} {4}, under {5}.",
	sayResting:         "Rest: {1} of {2} counted.",
	sayRestingIf:       "If it stays warm; then read {1}.",
	sayRestAgain:       "Rest: {1} of {2}, from zero: {3}.",
	sayEarlyRelease:    "Sooner only by the lead and the owner's signature.",
	sayCountedEarly:    "Counted too early, {1}. Count again from {2}.",
	sayFindCause:       "Find the cause, press again, count again.",
	sayLate:            "Late.",
	sayRecessPhotos:    "{1} of {2} recess photos.",
	sayEarlySign:       "Not rested: the owner must sign the early release.",
	sayLaidUnwiped:     "Laid without a wipe.",
	sayLaidOld:         "Laid on a wipe too old since {1}.",
	sayLaidUnbegun:     "Nobody tapped when laying began; wipe good until {1}.",
	sayLaidSpoiled:     "Laid after: {1} at {2}. Not wiped since.",
	sayLaidOut:         "Lift it early and lay new film, or the lead's go-ahead.",
	sayLaidNoPhoto:     "Laid {1}. No photo yet.",
	sayHalfLaid:        "{1} half laid since {2}: do not open it.",
	sayWipedInTime:     "Wiped; laying began in time.",
	sayPrimedInTime:    "Primed; laying began in time.",
}

// say fills the names and marks into a sentence.
func say(s sentence, args ...string) string { return fill(english[s], args...) }

func fill(t string, args ...string) string {
	out := make([]byte, 0, len(t)+16*len(args))
	for i := 0; i < len(t); i++ {
		if t[i] == '{' && i+2 < len(t) && t[i+2] == '}' {
			if n := int(t[i+1] - '1'); n >= 0 && n < len(args) {
				out = append(out, args[n]...)
				i += 2
				continue
			}
		}
		out = append(out, t[i])
	}
	return string(out)
}

// Marks for what depends on where the reader is.
func markTime(ms int64) string { return "⟨t:" + strconv.FormatInt(ms, 10) + "⟩" }
func markTemp(mC int64) string { return "⟨c:" + strconv.FormatInt(mC, 10) + "⟩" }
func markDiff(mK int64) string { return "⟨k:" + strconv.FormatInt(mK, 10) + "⟩" }
func markSpan(ms int64) string { return "⟨h:" + strconv.FormatInt(ms, 10) + "⟩" }

// digits writes a whole number.
func digits(n int64) string { return strconv.FormatInt(n, 10) }

// tenths writes n units with one decimal.
func tenths(n, unit int64) string {
	d := (n*10 + unit/2) / unit
	return digits(d/10) + "." + digits(d%10)
}
