package record

// What a job card says beside the words of the record.
var (
	sayCard       = text{"Job card", "Ficha de trabajo"}
	cardPanels    = text{"Panels in hang order", "Paneles en orden de colocación"}
	cardSteps     = text{"Steps in order", "Pasos en orden"}
	cardStands    = text{"Stands in", "Está en"}
	cardPrinted   = text{"Printed", "Impresa"}
	cardHands     = text{"Initials", "Iniciales"}
	cardOpens     = text{"Opens this job", "Abre este trabajo"}
	cardHow       = text{"For the day the phones fail. Tick the box; write day, time and initials at once. What nobody measured stays empty. Afterwards open the job and touch 'From the card'.", "Para el día en que fallen los teléfonos. Marque la casilla; escriba día, hora e iniciales en el momento. Lo que nadie midió queda vacío. Después abra el trabajo y toque 'Desde la ficha'."}
	cardDone      = text{"Done", "Hecho"}
	cardYes       = text{"done", "hecho"}
	cardWhen      = text{"Day, time", "Día, hora"}
	cardInitials  = text{"Initials", "Iniciales"}
	cardValues    = text{"Values, notes", "Valores, notas"}
	cardCounted   = text{"{1} of {2} counted", "{1} de {2} contadas"}
	cardNotBefore = text{"not before {1}", "no antes de {1}"}
	cardUpper     = text{"upper", "arriba"}
	cardLower     = text{"lower", "abajo"}
	cardDefers    = text{"The product's sheet, local codes and licensed practice come first.", "Mandan la hoja del producto, las normas locales y el oficio autorizado."}

	cardBefore = text{"Up to laying: time and initials in each box", "Hasta colocar: hora e iniciales en cada casilla"}
	cardAfter  = text{"After laying: time and initials in each box", "Tras colocar: hora e iniciales en cada casilla"}
	cardFromTo = text{"{1}: from, to", "{1}: de, a"}

	cardReadings = text{"Air and surface: one column each time", "Aire y superficie: una columna cada vez"}
	cardReading  = text{"Reading", "Lectura"}
	cardAir      = text{"Air, {1}", "Aire, {1}"}
	cardHumidity = text{"Humidity, %", "Humedad, %"}
	cardDew      = text{"Dew point from the table, {1}", "Punto de rocío, de la tabla, {1}"}
	cardDot      = text{"Dot {1}: {2}", "Punto {1}: {2}"}
	cardMargin   = text{"Coldest dot less dew point: at least {1}", "Punto más frío menos rocío: al menos {1}"}
	cardDewTable = text{"Dew point in {1}, by air and humidity", "Punto de rocío en {1}, por aire y humedad"}
	cardAirHead  = text{"Air {1}", "Aire {1}"}
	cardBetween  = text{"Between two values take the higher one, for air and for humidity. A surface below the dew point gets wet.", "Entre dos valores tome el mayor, de aire y de humedad. Una superficie por debajo del punto de rocío se moja."}

	cardSpoilsTitle = text{"What spoils what", "Qué estropea qué"}
	cardSpoils      = text{"After this, do it again", "Después de esto, hágalo otra vez"}
	cardAging       = text{"A final wipe is too old after {1}, in heat or dust after {2}: wipe again.", "La limpieza final caduca a los {1}, con calor o polvo a los {2}: limpie otra vez."}
	cardAgain       = text{"Do again", "Hacer otra vez"}
	cardAfterThis   = text{"After", "Después de"}
	cardWholePanel  = text{"Everything on that panel", "Todo en ese panel"}
	cardDryZero     = text{"dry from zero", "secar desde cero"}
	cardDryMore     = text{"dry some hours more", "secar unas horas más"}
	cardPauses      = text{"hours pause", "las horas se paran"}
	cardReadAgain   = text{"read again", "leer otra vez"}
)
