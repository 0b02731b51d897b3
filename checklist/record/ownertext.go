package record

// What the owner reads, in every language. The papers and the risks say what a
// crew phone shows over the same signature (pwa/app/views/words.js); a test
// compares them. All of it is common practice, no source.

// papers stand over a signature of their own.
var papers = map[string][]text{
	"paint-risk": {
		{"This paint may come off with the film one day.", "Esta pintura puede soltarse un día con el vinil."},
		{"Nobody can promise how it comes out.", "Nadie puede prometer cómo saldrá."}},
	"removal-risk": {
		{"Paint that is not original may come off with the old film.", "La pintura no original puede soltarse con el vinil viejo."},
		{"Rust, old lettering and faded paint may show below it.", "Debajo pueden verse óxido, letras viejas y pintura descolorida."}},
	"film-risk": {
		{"This film is not made for this surface. It may lift there.", "Este vinil no es para esta superficie. Puede levantarse."},
		{"I want it all the same, at my own risk.", "Lo quiero de todos modos, a mi propio riesgo."}},
	"early-release": {
		{"The film has not rested its hours. Edges may lift.", "El vinil no reposó sus horas. Pueden levantarse bordes."},
		{"I take the vehicle now, at my own risk.", "Retiro el vehículo ahora, a mi propio riesgo."}},
}

// risks are what film risks over what was found.
var risks = map[string]text{
	"chip":        {"Film over a chip shows it, and may lift there.", "El vinil deja ver el piquete, y puede levantarse ahí."},
	"rust":        {"Rust goes on under film and lifts it: repair first, or leave it bare.", "El óxido sigue bajo el vinil: repare antes o deje sin vinil."},
	"dent":        {"Film shows every dent.", "El vinil muestra cada abolladura."},
	"peeling":     {"Film pulls peeling paint off with it.", "El vinil arranca la pintura que se desprende."},
	"repaint":     {"Repainted areas may come off with the film one day.", "Lo repintado puede soltarse un día con el vinil."},
	"scratch":     {"Film shows a scratch in low light.", "El vinil muestra un arañazo con luz baja."},
	"old film":    {"Old film beneath comes off together with the new.", "El vinil viejo de abajo se suelta con el nuevo."},
	"raw plastic": {"Film does not hold on raw plastic: no promise there.", "El vinil no agarra en plástico sin pintar: sin garantía."},
}

// spots are the words that a pin is set by (pwa/app/views/pins.js).
var spots = map[string]text{
	"high": {"high", "alto"}, "mid-height": {"mid-height", "media altura"}, "low": {"low", "bajo"},
	"front": {"front", "frente"}, "middle": {"middle", "medio"}, "rear": {"rear", "atrás"},
	"left": {"left", "izquierda"}, "right": {"right", "derecha"},
}

var weekdays = [7]text{{"Sun", "dom"}, {"Mon", "lun"}, {"Tue", "mar"}, {"Wed", "mié"}, {"Thu", "jue"}, {"Fri", "vie"}, {"Sat", "sáb"}}

// bring is what the owner does before it comes.
var bring = [...]text{
	{"Bring it washed, without wax and without tyre dressing.", "Tráigalo lavado, sin cera y sin abrillantador de neumáticos."},
	{"Bring it empty, with roof racks off if you can.", "Tráigalo vacío y, si puede, sin portaequipajes."},
	{"A quarter of a tank is enough.", "Basta un cuarto de depósito."},
	{"Bring every key, and the codes that it asks for.", "Traiga todas las llaves y los códigos que pida."},
	{"Tell us what was repainted, and when.", "Díganos qué se repintó y cuándo."},
	{"Tell us who may sign for it.", "Díganos quién puede firmar por él."},
	{"We walk round it with you and pin what we see.", "Damos una vuelta con usted y marcamos lo que vemos."},
}

// next is what the owner has to expect while it is here.
var next = [...]text{
	{"After the wash we look again, and ask you about what is new.", "Tras el lavado miramos otra vez y le preguntamos por lo nuevo."},
	{"What you do not answer stays without film.", "Lo que no responda queda sin vinil."},
	{"The film rests at least a day before you fetch it.", "El vinil reposa al menos un día antes de la entrega."},
}

var (
	sayComes      = text{"Before you bring it", "Antes de traerlo"}
	sayIsHere     = text{"It is with us", "Está con nosotros"}
	sayIsReady    = text{"It is ready", "Está listo"}
	sayGone       = text{"Back with you", "De vuelta con usted"}
	sayBringTitle = text{"What to bring", "Qué traer"}
	sayNextTitle  = text{"What comes next", "Qué viene ahora"}

	sayNoPromise    = text{"No time is promised yet.", "Aún no hay hora prometida."}
	sayReadyBy      = text{"Ready by {1}, as promised.", "Listo antes del {1}, como prometido."}
	sayPromisedFor  = text{"Promised for {1}. It is close.", "Prometido para el {1}. Va justo."}
	sayLater        = text{"It takes longer than promised ({1}).", "Tarda más de lo prometido ({1})."}
	sayReadyBetween = text{"As it stands: ready between {1} and {2}.", "Tal como va: listo entre el {1} y el {2}."}
	sayOpenEnded    = text{"Not before {1}: it has to dry first.", "No antes del {1}: primero debe secar."}
	sayFetchIt      = text{"You can fetch it. The driver signs the care sheet.", "Puede recogerlo. El conductor firma la hoja de cuidados."}
	sayLeftAt       = text{"It left the shop {1}.", "Salió del taller el {1}."}

	sayAcceptMeans  = text{"Accept: the film goes over it as it is.", "Aceptar: el vinil va encima tal como está."}
	sayBarePanel    = text{"Leave it bare: {1} gets no film.", "Dejar sin vinil: {1} queda sin él."}
	sayBareVehicle  = text{"Leave it bare: no film there.", "Dejar sin vinil: ahí no se pone."}
	sayNothingFound = text{"No damage written down.", "Ningún daño anotado."}
	sayOwnerSigned  = text{"{1}: {2}, {3}", "{1}: {2}, {3}"}

	sayViaLink     = text{"by link", "por enlace"}
	sayLinkGivenTo = text{"by link, given to {1}", "por enlace, dado a {1}"}
	sayRead        = text{"{1} read, in {2}: {3}", "{1} leyó, en {2}: {3}"}
)

// sayTongue names a language of checklist.Languages.
var sayTongue = map[string]text{"en": {"English", "inglés"}, "es": {"Spanish", "español"}}
