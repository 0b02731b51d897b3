package record

import (
	"strconv"
	"strings"
	"time"
)

// text is a sentence in each of checklist.Languages: English, Spanish. {1},
// {2}, ... are filled in.
type text [2]string

// say puts a sentence into the record's language and fills it.
func (w *writer) say(t text, args ...string) string {
	s := t[w.language]
	if len(args) == 0 {
		return s
	}
	pairs := make([]string, 0, 2*len(args))
	for i, a := range args {
		pairs = append(pairs, "{"+strconv.Itoa(i+1)+"}", a)
	}
	return strings.NewReplacer(pairs...).Replace(s)
}

// marks puts the moments of a sentence of the core, ⟨t:MS⟩, into the shop's zone.
func (w *writer) marks(s string) string {
	for {
		before, rest, ok := strings.Cut(s, "⟨t:")
		digits, after, closed := strings.Cut(rest, "⟩")
		ms, err := strconv.ParseInt(digits, 10, 64)
		if !ok || !closed || err != nil {
			return s
		}
		s = before + w.full(ms) + after
	}
}

var months = [12]text{
	time.January - 1: {"Jan", "ene"}, {"Feb", "feb"}, {"Mar", "mar"}, {"Apr", "abr"}, {"May", "may"}, {"Jun", "jun"},
	{"Jul", "jul"}, {"Aug", "ago"}, {"Sep", "sep"}, {"Oct", "oct"}, {"Nov", "nov"}, {"Dec", "dic"},
}

// Titles and what stands on every page.
var (
	sayTitle     = text{"Vehicle record", "Registro del vehículo"}
	sayPage      = text{"Page {1} of {2}", "Página {1} de {2}"}
	sayContinued = text{"continued", "continúa"}
	sayFigure    = text{"Figure", "Figura"}

	sayFront    = text{"The job", "El trabajo"}
	sayFound    = text{"How the vehicle came, and what was found", "Cómo llegó el vehículo y qué se encontró"}
	sayFilm     = text{"Film on each panel", "Vinil de cada panel"}
	sayBefore   = text{"Paint and old film", "Pintura y vinil anterior"}
	sayClimate  = text{"Climate from wash to release", "Clima desde el lavado hasta la entrega"}
	sayReadings = text{"Surface readings", "Lecturas de superficie"}
	sayLaying   = text{"Cleaning, drying and laying", "Limpieza, secado y colocación"}
	sayStretch  = text{"Stretch, primer and what stays clear", "Estiramiento, imprimación y lo que queda libre"}
	sayHeating  = text{"Post-heat", "Calentamiento final"}
	sayEdges    = text{"Edges, rest and second look", "Bordes, reposo y segunda revisión"}
	saySpoiled  = text{"What spoiled work on the vehicle", "Qué estropeó el trabajo en el vehículo"}
	sayStruck   = text{"Lines taken back", "Líneas retiradas"}
	sayCare     = text{"Care sheet", "Hoja de cuidados"}
	sayPhotos   = text{"Photos", "Fotos"}
	saySteps    = text{"Who did what", "Quién hizo qué"}
	saySeal     = text{"Seal", "Sello"}
)

// The first page.
var (
	sayVehicleName = text{"Vehicle", "Vehículo"}
	sayPlate       = text{"Plate", "Placa"}
	sayVIN         = text{"VIN", "VIN"}
	sayFleet       = text{"Fleet number", "Número de flota"}
	sayCustomer    = text{"Customer", "Cliente"}
	sayRoute       = text{"Kind of job", "Tipo de trabajo"}
	sayShop        = text{"Shop", "Taller"}
	sayCheckedIn   = text{"Job opened", "Trabajo abierto"}
	sayPromised    = text{"Promised for", "Prometido para"}
	sayHandedOver  = text{"Handed over", "Entregado"}
	sayProof       = text{"Approved proof", "Prueba aprobada"}
	sayGuarantee   = text{"Film is to stay until", "El vinil debe durar hasta"}
	sayPeople      = text{"Who worked on it", "Quién trabajó en él"}

	sayStay          = text{"{1} ({2} months, {3})", "{1} ({2} meses, {3})"}
	sayEveryPanel    = text{"every panel", "todos los paneles"}
	sayStillOpen     = text{"not yet", "todavía no"}
	sayEndedBare     = text{"{1}, without film", "{1}, sin vinil"}
	sayReleasedEarly = text{"{1}, before it had rested", "{1}, antes de cumplir el reposo"}
	sayNotWritten    = text{"not written down", "no anotado"}

	sayWaivers        = text{"The lead's go-aheads", "Permisos del jefe de taller"}
	sayNoWaivers      = text{"The lead let no stopped step pass.", "El jefe no dejó pasar ningún paso detenido."}
	sayLateLines      = text{"Lines that came late", "Líneas que llegaron tarde"}
	sayNoLateLines    = text{"Every line was written within 30 minutes of its act.", "Cada línea se escribió dentro de 30 minutos del hecho."}
	sayNotMeasured    = text{"Not measured, not done, not reported", "No medido, no hecho, no informado"}
	sayAllMeasured    = text{"Nothing that the shop's steps ask for is missing.", "No falta nada de lo que piden los pasos del taller."}
	sayHowToRead      = text{"A single time holds to the minute. Two times: it happened between them, for the phone was out of reach. A typed time is what a person said. Numbers of the shop and of common practice; the film maker's sheet wins. Nothing here says that a vehicle is safe.", "Una sola hora es exacta al minuto. Dos horas: ocurrió entre ambas, porque el teléfono estaba fuera de alcance. Una hora tecleada es lo que dijo una persona. Números del taller y de la práctica común; manda la hoja del fabricante. Nada aquí dice que un vehículo sea seguro."}
	sayWrittenLate    = text{"{1}: at {2} as typed, written {3} later by {4}.", "{1}: a las {2} según se tecleó, escrito {3} después por {4}."}
	sayLateAdopted    = text{"{1}: at {2} as typed, written {3} later by {4}; the lead took that time as true.", "{1}: a las {2} según se tecleó, escrito {3} después por {4}; el jefe dio esa hora por buena."}
	sayWideSpan       = text{"{1}: between {2} and {3}, by {4}; the phone was out of reach.", "{1}: entre {2} y {3}, por {4}; el teléfono estaba fuera de alcance."}
	sayFromMemory     = text{"{1}: from memory, {2}, {3}.", "{1}: de memoria, {2}, {3}."}
	sayAtOnce         = text{"{1} different steps were ticked within one minute, {2}, by {3}.", "{1} pasos distintos se marcaron en un minuto, {2}, por {3}."}
	sayReadingSkipped = text{"Surface: not measured, {1}, {2}.", "Superficie: no medida, {1}, {2}."}
	sayReadingMemory  = text{"Surface: from memory, {1}, {2}.", "Superficie: de memoria, {1}, {2}."}
	sayHeatSkipped    = text{"Post-heat on {1}: film not read, {2}, {3}.", "Calentamiento en {1}: vinil no leído, {2}, {3}."}
	sayHeatMemory     = text{"Post-heat on {1}: from memory, {2}, {3}.", "Calentamiento en {1}: de memoria, {2}, {3}."}
	sayAnswerUnknown  = text{"{1} Nobody knew, {2}.", "{1} Nadie lo sabía, {2}."}
	sayStepOpen       = text{"{1}: not shown as done on {2}.", "{1}: no consta como hecho en {2}."}
	sayFilmRefused    = text{"Film refused for this surface: {1}.", "Vinil rechazado para esta superficie: {1}."}
	sayUnplanned      = text{"{1}, {2}: {3} stretch, {4}; no plan was written for it.", "{1}, {2}: {3} de estiramiento, {4}; no se anotó plan."}
	sayNoFilmOn       = text{"No film was laid on {1}.", "No se colocó vinil en {1}."}
	sayNoBatchOn      = text{"Film batch not written down: {1}.", "Lote de vinil no anotado: {1}."}
	sayNoMeasureOn    = text{"Contours not measured: {1}.", "Contornos no medidos: {1}."}
	sayNoReadingOn    = text{"No surface reading within an hour before laying: {1}.", "Sin lectura de superficie en la hora previa a colocar: {1}."}
	sayNoHeatOn       = text{"No post-heat written down: {1}.", "Calentamiento final no anotado: {1}."}
	sayNoPhotoOn      = text{"No photo of {1}.", "Sin foto de {1}."}
	sayAirNever       = text{"Air of {1}: never read from {2} to {3}.", "Aire de {1}: nunca leído de {2} a {3}."}
	sayAirGaps        = text{"Air of {1}: not read for {2}, longest from {3} to {4}.", "Aire de {1}: sin lectura durante {2}, lo más largo de {3} a {4}."}
	sayNoDriver       = text{"No driver signed the care sheet.", "Ningún conductor firmó la hoja de cuidados."}
	sayNoWalk         = text{"Nobody wrote down how the vehicle came.", "Nadie anotó cómo llegó el vehículo."}
	saySignature      = text{"Signature under {1}, {2}", "Firma en {1}, {2}"}
)

// Short words in cells.
var (
	sayVehicle        = text{"vehicle", "vehículo"}
	sayUnknownPlace   = text{"place not known", "lugar desconocido"}
	sayByServer       = text{"shop server", "servidor del taller"}
	sayNobodyKnown    = text{"name not known", "nombre desconocido"}
	sayBetween        = text{"{1} to {2}", "{1} a {2}"}
	sayTyped          = text{"{1} typed, written {2}", "{1} tecleado, escrito {2}"}
	sayBegun          = text{"{1}: begun", "{1}: empezado"}
	sayTakenBack      = text{"{1}: not done", "{1}: no hecho"}
	sayUnknown        = text{"not known", "desconocido"}
	sayDash           = text{"none", "ninguna"}
	sayNotMeasuredOne = text{"not measured", "no medido"}
	sayNoReading      = text{"no reading", "sin lectura"}
	sayGoesOn         = text{"no end reported", "sin fin informado"}
	sayRange          = text{"{1} to {2}", "{1} a {2}"}
	sayAtMost         = text{"at most {1}", "como máximo {1}"}
	sayPieces         = text{"{1} pieces", "{1} piezas"}
	sayCount          = text{"{1} of {2}", "{1} de {2}"}
	sayPassed         = text{"passed", "superado"}
	sayFailed         = text{"failed", "no superado"}
)

// How it came.
var (
	sayPlanAlt     = text{"{1}, unrolled, front at the top. Panels in hang order: {2}. Findings pinned: {3}; the table below says each.", "{1}, desplegado, frente arriba. Paneles en orden de colocación: {2}. Hallazgos marcados: {3}; la tabla dice cada uno."}
	sayFindings    = text{"Findings", "Hallazgos"}
	sayNoFindings  = text{"No finding is written down. That is not the same as nothing there.", "No hay hallazgos anotados. No es lo mismo que no haber nada."}
	sayAcross      = text{"about {1} mm", "unos {1} mm"}
	saySignatures  = text{"Signatures", "Firmas"}
	sayNoSignature = text{"Nobody signed.", "Nadie firmó."}
	sayInk         = text{"{1}, {2}: {3}, {4}", "{1}, {2}: {3}, {4}"}
	sayRefused     = text{"Refused by the owner: stays bare", "Rechazado por el dueño: queda sin vinil"}
)

// Film, paint, old film.
var (
	sayFilmTable = text{"Film, laminate and batch", "Vinil, laminado y lote"}
	sayNoFilm    = text{"no film written down", "vinil no anotado"}
	sayOwnRisk   = text{"owner's own risk, signed", "riesgo del dueño, firmado"}
	saySheet     = text{"Surface that this film may be laid on", "Superficie en que este vinil se puede colocar"}
	sayShopRule  = text{"shop's own rule", "regla del taller"}
	sayWindow    = text{"{1} to {2}", "{1} a {2}"}
	sayPrinting  = text{"Print and laminate", "Impresión y laminado"}
	sayGassed    = text{"Laminated {1} after printing; the shop asks for {2}.", "Laminado {1} después de imprimir; el taller pide {2}."}
	sayQuestions = text{"Questions asked", "Preguntas hechas"}
	sayPaint     = text{"Paint", "Pintura"}
	sayPatches   = text{"Gas patch tests", "Pruebas de gas con parche"}
	sayPatchOn   = text{"put on", "colocado"}
	sayTrials    = text{"Trial strips of old film", "Tiras de prueba del vinil anterior"}
	sayTrialAt   = text{"Trial strip, {1}", "Tira de prueba, {1}"}
)

// Climate and readings.
var (
	sayPlotTitle    = text{"Air, dew point and coldest surface", "Aire, punto de rocío y superficie más fría"}
	sayCountedHours = text{"Hours that count", "Horas que cuentan"}
	sayAir          = text{"air", "aire"}
	sayDew          = text{"dew point", "punto de rocío"}
	sayColdest      = text{"coldest dot read", "punto más frío leído"}
	sayFloorLine    = text{"coldest to lay, {1}", "más frío para colocar, {1}"}
	sayCeilingLine  = text{"warmest to lay, {1}", "más caliente para colocar, {1}"}
	sayPlotSpan     = text{"From {1} to {2}.", "De {1} a {2}."}
	sayPlotAir      = text{"Air from {1} to {2}.", "Aire de {1} a {2}."}
	sayPlotDew      = text{"Dew point from {1} to {2}.", "Punto de rocío de {1} a {2}."}
	sayPlotSurface  = text{"Coldest dot from {1} to {2} in {3} readings.", "Punto más frío de {1} a {2} en {3} lecturas."}
	sayPlotCounted  = text{"{1} counted for drying.", "Contaron {1} para el secado."}
	sayStays        = text{"Where it stood", "Dónde estuvo"}
	sayHappened     = text{"What happened to the air", "Qué ocurrió con el aire"}
	sayNoClimate    = text{"No air and no surface was read: the climate is not known.", "No se leyó aire ni superficie: el clima no se conoce."}
	sayNoDoor       = text{"No door was reported open.", "No se informó de ninguna puerta abierta."}
	sayNoHeater     = text{"No heater was reported lit or off.", "No se informó de ningún calefactor encendido o apagado."}
	sayByHand       = text{"Read by hand", "Leído a mano"}
	sayByLogger     = text{"Read by a logger, by day", "Leído por un registrador, por día"}
	sayMemoryOnly   = text{"from memory", "de memoria"}
	sayMoreReadings = text{"{1} more readings stand in the table of the folder.", "{1} lecturas más están en la tabla de la carpeta."}
	sayErrors       = text{"Error of the instruments, as the shop takes it: contact {1}, infrared {2}, logger {3}.", "Error de los instrumentos según el taller: contacto {1}, infrarrojo {2}, registrador {3}."}
	sayRegister     = text{"Instruments, as the shop's register has them", "Instrumentos, según el registro del taller"}
	sayNever        = text{"never", "nunca"}
	sayCheckOld     = text{"{1}, read with on {2}: its last check was too long ago ({3}).", "{1}, usado el {2}: su última comprobación era demasiado antigua ({3})."}
	sayNoReadings   = text{"No surface was read.", "No se leyó ninguna superficie."}
)

// Work on the vehicle.
var (
	sayWipeAndLay      = text{"Final wipe, primer and laying", "Limpieza final, imprimación y colocación"}
	sayAtLaying        = text{"Surface and air when laying began", "Superficie y aire al empezar a colocar"}
	sayNotLaid         = text{"not laid", "no colocado"}
	sayNotTapped       = text{"nobody tapped it", "nadie lo marcó"}
	sayNoWipe          = text{"no wipe written down", "limpieza no anotada"}
	sayCleaning        = text{"Cleaning and drying", "Limpieza y secado"}
	sayCleaningNote    = text{"Which cleaner and primer, by tin and batch, is not written down unless a note says it.", "Qué limpiador e imprimación, por lata y lote, no está anotado salvo que lo diga una nota."}
	sayWashed          = text{"Washed: done {1}, {2}.", "Lavado: hecho {1}, {2}."}
	sayNoWash          = text{"No wash is written down.", "No hay ningún lavado anotado."}
	sayDried           = text{"Dried, {1}: {2} counted from {3} until the first wipe, {4}.", "Secado, {1}: contaron {2} desde {3} hasta la primera limpieza, {4}."}
	sayNotDried        = text{"Dried, {1}: no hour counted.", "Secado, {1}: no contó ninguna hora."}
	sayAgain           = text{"again {1}", "otra vez {1}"}
	sayTestsBefore     = text{"Tests before laying", "Pruebas antes de colocar"}
	sayTestsAfter      = text{"Trim, lamps and second look", "Molduras, luces y segunda revisión"}
	sayGaps            = text{"Gaps that open", "Juntas que se abren"}
	sayLooks           = text{"Looked along after heat", "Revisado tras el calor"}
	sayBlade           = text{"Paint along the cut", "Pintura junto al corte"}
	saySpots           = text{"Spot checks: one line in ten, drawn by the chain of lines", "Comprobaciones al azar: una línea de cada diez, sorteada por la cadena de líneas"}
	saySpotRight       = text{"found right", "estaba bien"}
	saySpotWrong       = text{"found wrong", "estaba mal"}
	saySpotNobody      = text{"nobody could look", "nadie pudo mirar"}
	saySpotOpen        = text{"drawn, and nobody looked", "sorteada, y nadie miró"}
	saySpotAlone       = text{"by the same hand", "por la misma mano"}
	sayBareByOwner     = text{"Left bare, for the owner said no: {1}.", "Sin vinil, porque el dueño dijo que no: {1}."}
	sayStaysBare       = text{"stays bare, owner said no", "queda sin vinil, el dueño dijo no"}
	sayStretchTable    = text{"Channels, domes, rivets and gaps", "Canales, cúpulas, remaches y juntas"}
	sayKeepClear       = text{"Keep clear", "Mantener libre"}
	sayKeepClearList   = text{"What had to stay clear", "Lo que debía quedar libre"}
	sayNoKeepClear     = text{"No list of what must stay clear was written down.", "No se anotó lista de lo que debe quedar libre."}
	sayNobodyLooked    = text{"nobody looked", "nadie miró"}
	sayStayedFree      = text{"looked at, free", "revisado, libre"}
	sayCovered         = text{"not free", "no libre"}
	saySeams           = text{"Laps: which panel lies under which", "Traslapes: qué panel queda debajo"}
	sayPrimerMap       = text{"Primer map", "Mapa de imprimación"}
	sayPrimerAt        = text{"{1}, {2}: helps at {3}.", "{1}, {2}: ayuda en {3}."}
	sayPrimerPlanned   = text{"{1}: planned; primed {2}.", "{1}: prevista; aplicada {2}."}
	sayNoPrimer        = text{"never, as far as written", "nunca, según lo anotado"}
	sayNoPrimerPlanned = text{"No primer was planned.", "No se previó imprimación."}
	sayFloorFirst      = text{"{1} if bridged; floor first, {2} drawn in", "{1} si puentea; fondo primero, {2} arrastrados"}
	sayWide            = text{"{1} mm wide", "{1} mm de ancho"}
	sayDeep            = text{"{1} mm deep", "{1} mm de fondo"}
	sayFloor           = text{"floor {1} mm", "base {1} mm"}
	sayPath            = text{"path {1} mm", "recorrido {1} mm"}
	sayHalfWide        = text{"half width {1} mm", "media anchura {1} mm"}
	sayHigh            = text{"{1} mm high", "{1} mm de alto"}
	sayHeatTable       = text{"Film read behind the nozzle", "Vinil leído detrás de la boquilla"}
	saySetTo           = text{"set to {1}", "ajustado a {1}"}
	sayOver            = text{"over {1}", "sobre {1}"}
	sayGuns            = text{"{1} guns", "{1} pistolas"}
	sayNoHeat          = text{"No post-heat is written down.", "No hay calentamiento final anotado."}
	sayEdgeTable       = text{"How panels were cut, and who looked", "Cómo se cortó y quién revisó"}
	sayNotCut          = text{"no cut written down", "corte no anotado"}
	saySameHand        = text{"{1}, the hand that laid it", "{1}, la misma mano que lo colocó"}
	sayRestAndLook     = text{"Rest and second look", "Reposo y segunda revisión"}
	sayRested          = text{"Rested: {1} counted, {2} needed.", "Reposo: contaron {1}, hacían falta {2}."}
	sayEarly           = text{"Handed over before the rest was over.", "Entregado antes de terminar el reposo."}
	sayRisen           = text{"Second look: {1} of {2} risen, {3}, {4}.", "Segunda revisión: {1} de {2} levantados, {3}, {4}."}
	sayCalledBack      = text{"Call back: seen {1}, {2}.", "Revisión posterior: visto {1}, {2}."}
	sayNoRest          = text{"No rest and no second look are written down.", "No hay reposo ni segunda revisión anotados."}
	sayNothingSpoiled  = text{"Nothing was reported that spoiled work on the vehicle.", "No se informó de nada que estropeara el trabajo en el vehículo."}
	sayNoneStruck      = text{"No line was taken back.", "No se retiró ninguna línea."}
	saySignedCare      = text{"Signed by {1}, {2}, at hand-over, {3}.", "Firmado por {1}, {2}, en la entrega, {3}."}
	sayCareUnsigned    = text{"Nobody signed for this sheet.", "Nadie firmó esta hoja."}
	sayPhoto           = text{"{1}, {2}. {3}, {4}", "{1}, {2}. {3}, {4}"}
	sayPhotoMissing    = text{"This photo is not at the shop.", "Esta foto no está en el taller."}
	sayPhotoNote       = text{"Photos are scaled down here; the folder holds them as they were taken.", "Aquí las fotos están reducidas; la carpeta las guarda como se tomaron."}
	sayNoPhotos        = text{"No photo was taken.", "No se tomó ninguna foto."}
	sayStepsNote       = text{"Every step as a hand ticked it, in order.", "Cada paso como lo marcó una mano, en orden."}
)

// The seal.
var (
	sayNotSealed = text{"Not sealed: the vehicle is not handed over.", "Sin sello: el vehículo no está entregado."}
	sayHowSealed = text{"The job's lines form a chain of hashes. The shop's key signs its head at hand-over. Lines can be added afterwards; none can be changed. The folder with this record holds the lines and says how to check them.", "Las líneas del trabajo forman una cadena de huellas. La clave del taller firma su cabeza en la entrega. Después se pueden añadir líneas; ninguna se puede cambiar. La carpeta con este registro guarda las líneas y dice cómo comprobarlas."}
	sayJobID     = text{"Job", "Trabajo"}
	sayChain     = text{"Sealed lines", "Líneas selladas"}
	sayChainAt   = text{"{1}, epoch {2}", "{1}, época {2}"}
	sayHead      = text{"Head of the chain", "Cabeza de la cadena"}
	sayKey       = text{"Shop's key", "Clave del taller"}
	sayCode      = text{"Job and head of the chain, for a camera", "Trabajo y cabeza de la cadena, para una cámara"}
)

// Headings of columns.
var (
	headAdhesive   = text{"Adhesive", "Adhesivo"}
	headAdvice     = text{"Advice", "Consejo"}
	headAgainst    = text{"Checked against", "Comprobado con"}
	headAir        = text{"Air", "Aire"}
	headAirRange   = text{"Air", "Aire"}
	headAllowed    = text{"On this surface", "En esta superficie"}
	headAnswer     = text{"Owner's answer", "Respuesta del dueño"}
	headAnswered   = text{"Answer", "Respuesta"}
	headAs         = text{"As", "Como"}
	headBatch      = text{"Batch", "Lote"}
	headBegan      = text{"Laying began", "Colocación empezada"}
	headColdest    = text{"Coldest", "Más frío"}
	headCovers     = text{"Covers, as recorded", "Cubre, según consta"}
	headCure       = text{"Cured", "Curado"}
	headCut        = text{"Cut", "Corte"}
	headCutWhen    = text{"When", "Cuándo"}
	headDay        = text{"Day", "Día"}
	headChecked    = text{"Last check", "Última comprobación"}
	headError      = text{"Error", "Error"}
	headSort       = text{"Kind", "Tipo"}
	headDew        = text{"Dew point", "Punto de rocío"}
	headDewMost    = text{"Highest dew point", "Rocío más alto"}
	headFeature    = text{"What", "Qué"}
	headFilm       = text{"Film", "Vinil"}
	headFilmRead   = text{"Film read", "Vinil leído"}
	headForce      = text{"Why", "Por qué"}
	headFound      = text{"Found", "Hallado"}
	headFrom       = text{"From", "Desde"}
	headHeated     = text{"Heated", "Calentado"}
	headHumidity   = text{"Humidity", "Humedad"}
	headInstrument = text{"Instrument", "Instrumento"}
	headLaid       = text{"Laid", "Colocado"}
	headLaidHow    = text{"Laid how", "Cómo"}
	headLaminate   = text{"Laminate", "Laminado"}
	headLimit      = text{"Surface", "Superficie"}
	headLine       = text{"Line", "Línea"}
	headLooked     = text{"Edges seen by", "Bordes vistos por"}
	headLookedWhen = text{"When", "Cuándo"}
	headMeasures   = text{"Measures", "Medidas"}
	headName       = text{"Name", "Nombre"}
	headNote       = text{"Note", "Nota"}
	headNumber     = text{"No.", "N.º"}
	headPaint      = text{"Paint", "Pintura"}
	headPainted    = text{"Painted", "Pintado"}
	headPanel      = text{"Panel", "Panel"}
	headPaper      = text{"Under", "En"}
	headPlace      = text{"Place", "Sitio"}
	headPlaceName  = text{"Place", "Lugar"}
	headPlaces     = text{"Patches", "Parches"}
	headPlan       = text{"Plan", "Plan"}
	headPrimed     = text{"Primer", "Imprimación"}
	headQuestion   = text{"Question", "Pregunta"}
	headRead       = text{"Read", "Leído"}
	headResidue    = text{"Adhesive left", "Adhesivo restante"}
	headResult     = text{"Result", "Resultado"}
	headRoll       = text{"Roll", "Rollo"}
	headSamples    = text{"Samples", "Muestras"}
	headSeen       = text{"Seen", "Visto"}
	headSeenThere  = text{"Seen", "Visto"}
	headSentence   = text{"In the lead's words", "En palabras del jefe"}
	headSource     = text{"Who says so", "Quién lo dice"}
	headSpot       = text{"Dot", "Punto"}
	headStep       = text{"Step", "Paso"}
	headStretch    = text{"Stretch", "Estiramiento"}
	headStruckBy   = text{"Taken back by", "Retirada por"}
	headStruckWhen = text{"When", "Cuándo"}
	headSurface    = text{"Surface", "Superficie"}
	headTapped     = text{"Written by", "Escrito por"}
	headTest       = text{"Test", "Prueba"}
	headThickness  = text{"Thickness", "Espesor"}
	headTo         = text{"To", "Hasta"}
	headTook       = text{"Took", "Duró"}
	headUnder      = text{"Lies under it", "Queda debajo"}
	headWarmed     = text{"Warmed", "Calentado"}
	headWarmest    = text{"Warmest", "Más caliente"}
	headWhat       = text{"What", "Qué"}
	headWhen       = text{"When", "Cuándo"}
	headWhere      = text{"Where", "Dónde"}
	headWho        = text{"Who", "Quién"}
	headWiped      = text{"Final wipe", "Limpieza final"}
)
