"""Given names that are common in Europe, the Americas, Asia and Africa, so that the name beside one can be found.

From memory, without a source; a list like this is never complete. Names that are also ordinary words of the trade's
languages count only where a capital and a second name beside them say so.
"""

from __future__ import annotations

_GIVEN_NAMES = """
achim adele albrecht anneliese annegret annemarie ansgar armin arno astrid babette beate berta birgit bodo burkhard
carsten cordula detlev dorit eckhard edeltraud
egon elfriede elke elvira erwin eugen evi ewald ferdinand franziska friederike gabi gerlinde gisela gottfried gudrun
gundula hannes hartmut hedwig heike heinz
heiner hermine hildegard horst ilona ingeborg ingo irmgard isolde joachim jutta kathrin klara konstantin kurt leonie
liselotte lothar ludger luise magdalene maike margarete
margit marlies mechthild meike nadja norbert oskar petra reiner reinhold roswitha rosemarie rüdiger rudiger rüdiger
sabrina siegmund sigrun silvana steffi susi svenja thorsten torsten
traute udo ulf ulla uschi veit vroni walburga wiebke wilma wolfram
arlette armand aurelien bernadette brice celeste christelle corentin damien delphine edouard elodie emilien estelle
fabienne fabrice gaelle gaston gerard gilles ghislaine gregoire
helene herve honore jacky jerome jocelyne josette kevin laetitia lionel loic lucien ludovic maelle marcelle marguerite
maryse mathilde maud mickael mireille monique muriel myriam noemie odette
olivier pascale perrine quentin raymonde regis rodolphe roselyne sandrine severine solange solene sylvain sylviane
thibault ugo valentin yann yannick yolande
adriaan aart albertine ans arie bas bep berend bram cees coen corrie dirkje eelco elsbeth evert fenna fokke gerrit
geertje gijs greetje harm hanneke hetty hilda ineke jacco jannie jantje jasper
jeltje jochem jolanda judith karel klaasje laurens lammert leendert lies lotje machteld mariska marloes mieke neeltje
niek paulien piet reinier renske rianne riet roos ruud sander sanne sietske sjaak sjoerd teun tineke toos
trijntje truus wiebe wietske wilma wouter
a'ishah adel amal amin anwar aziz bilal dalia faisal farah farid hamid hana huda imad jamal jamila karim khaled laila
leyla maha mahmut maryam mona mounir nabil nadir nasser nawal noor nour omid osama rania rami rashida reza
saeed safiya salman samir sana sayed shirin souad tahir wafa walid yahya yara yassin zainab zeynep ayse fatih hatice
huseyin ibrahim ismail kemal mehmet merve murat onur ozlem selim serkan sevgi tuncay turgut
ajay akash anand anjana arun ashok bhavna chandra deepa dev devi divya farhan gopal gurpreet harpreet indira jagdish
jaspreet kavita kiran krishna lalita madhu mahesh manish manjit meena meera mohan mukesh neha nikhil nisha pooja pradeep
prakash
rakesh ramesh rekha ritu rohit sandeep sangita satish shanti sharma shreya sita sudhir suman suresh usha vikram vinod
adaeze adebayo akua amara chidi chinwe emeka folake ifeoma kofi kwame nkechi obinna olu oluwaseun temitope thandiwe
tunde xolani zanele sipho themba
akira chiyo emi haruto hiroko hiroto isamu kaori kazuo keiichi makoto mariko megumi naoki ryo sakura satoshi shigeru
takashi tomoko yoko yoshiko yumi
anh binh duc dung giang hoa hung huong lan linh minh ngoc phuong quang thao thi thuy trang tuan xuan li wei xia xiao
yang ying zhang
alina anatoly andrei aneta arkadiusz bartek bogumila boguslaw bozena danuta ewelina gennady grazyna halina henryk
ireneusz irena jadwiga jaroslaw jolanta kazimierz leszek lidia lucyna ludmila marzena mieczyslaw mikhail miroslaw
natalya oleg olga radoslaw rafal renata ryszard
slawomir stanislawa sylwia szymon teodor teresa tomek waclaw waldemar wieslaw wladyslaw yelena yevgeny yuri zdzislaw
zygmunt vasile ioana gheorghe dumitru mihaela florin marcela lubos zdenek jiri vaclav frantisek jarmila bozidar dragan
goran milos nebojsa slobodan zoran
aino antti eero esa hannu jari jukka kaisa kari leena liisa marja markku matti mika mikko pirjo riitta seppo tapio timo
tuula ville astri bjarne bente britt eivind gerd gro havard ingeborg inger jorunn kare knut liv odd oddvar olav ragnhild
randi sigurd solveig
svein terje torbjorn trond tove unni vigdis ake anna-karin birgitta bengt bosse gosta gunilla hakan inga ingemar kjell
lennart leif maj marit roland sixten stig sture torsten ulla-britt
aurelio benito beto blanca braulio bruna cayetana chema conchita cristobal dolores eduarda encarnacion esteban eusebio
fermin flavia gonzalo hector iker inma isidro joaquin jordi josep leticia lorena luz maite marisol mateo mercedes
montserrat nieves noelia octavio paco paloma
pascual paz pepa pepe quique ramona raul rosario salvador santiago soledad teresita tomasa ursula ximena yago aldo
alfonso annalisa antonella assunta attilio carmela ciro concetta cosimo dario domenico donatella elio enzo ezio fabrizio
filomena gaetano gennaro gianluca
ivano katia loredana luigi maddalena marcello massimo mirella natale nicolo nunzia orazio ornella patrizia pasquale
piero pietro pina raffaele raffaella romeo rosaria rosella salvatore santo sergio silvano silvio simona stefano tiziana
tullio umberto vito vittorio
ainsley alasdair angharad aoife bethan blodwen caoimhe catriona ciaran cerys daithi deirdre dilwyn eamon eilidh eoin
fergus fiadh finlay gethin gwilym hamish iain ieuan isla kirsty lachlan mairead maeve morag moira niamh nuala oisin
padraig rhona roisin ruairi saoirse seamus shona
tadhg una agnes albie alec archibald audie avril basil beryl blanche cecily clarence clement constance cyril daphne
delia denzel desmond doreen edna effie eliza elsie enid ernest ethel eunice evie fern fergus florence freda freddie
gertrude gladys glenys gloria gwendolyn hattie
hilary horace ida ingram ivor jenna jocelyn kaye keira lacey leanne lesley letitia lila lionel lottie louie mabel maisie
marcia marjorie mavis maxine mildred minnie mitchell moses muriel myra myrtle nellie neville noreen odette ollie oswald
percy phyllida poppy queenie
reginald rodney ronnie rosamund rupert selwyn septimus shelagh silas stanley sybil tabitha thelma theodora tilda ursula
valmai vera verity wilfred winifred zelda
aaron abby abdul abdullah abigail adam adele adrian adrien agata agathe agnes agnieszka ahmad ahmed ahmet aidan aileen
aisha aisling
akiko alain alan albert alberto alejandra alejandro aleksander aleksandra alessandro alexander alexandra alexandre
alexis alfie alfred
ali alice alicia alina alison allan allison amanda amelia amelie amina amira amit amy ana anastasia anders andre andrea
andreas andrew
andrzej andy angela angelika angelo angus anika anil anita anja anjali ann anna anne anneke annelies annette annie anouk
antje
anthony antoine anton antonia antonio arash archie arjen arjun arne arnaud arnold arthur artur asif astrid audrey
aurelie aurora ayesha
barbara barry bart bartosz beata beatrice beatriz ben benjamin benoit bernadette bernard bernd bernhard bert bertrand
beth bettina betty
beverley bianca bjorn bogdan boris brandon brenda brendan brian bridget brigitte britta bronwen bruno bryan burak
caitlin callum camille
carla carlo carlos carmen carolina caroline carsten cassandra catarina caterina catherine cathy cecile cedric celine cem
chantal charles
charlie charlotte chen cheryl chiara chloe chris christa christel christian christiaan christina christine christoph
christophe christopher
chukwu ciara claire clara claudia claudio clemens clement clive colette colin colleen conor corinne cornelia cornelis
craig cristina cynthia
dagmar daisuke daan damian damien daniel daniela daniele danielle danny daria darren david dave davide dawid deborah
debbie declan deepak denis
denise dennis derek detlef diana diane diego dieter dietmar dimitri dinesh dirk dmitri dominic dominik dominique donald
donna dorothea
dorothy dorota douglas duncan dylan ebony eddie edgar edith edmund eduardo edward edwin eileen elaine eleanor elena
eleni elif elisa
elisabeth elise elizabeth elke ella ellen elodie elsa emil emilia emilie emily emma emmanuel emre enrico eric erica erik
erika ernst
esther ethan eugene eva evelyn ewa fabian fabien fabio fatima fatma federico felicity felix femke fernanda fernando
filip fiona florence
florian floris francesca francesco francis francisco francois francoise frans franz frederic frederik freya frieda
friedrich fritz gabriel
gabriela gabriele gareth gary gavin geert gemma geoff geoffrey georg george georges georgia georgina gerald gerard gerda
gerhard gertrud gianni
gillian giles gina giorgio giovanni giulia giuseppe gordon graeme graham greg gregor gregory greta guido guillaume
gunther gunnar gustav
gwen gwyneth hakan halina hamza hannah hanna hannelore hans harald harold harriet harvey hasan hassan heidi heiko
heinrich heinz helen
helena helene helga helmut hendrik henri henrik henry herbert herman hermann hilde hiroshi holger howard hubert hugh
hugo hussein ian
ibrahim ignacio igor ilse imran inge ingrid irene irina isaac isabel isabella isabelle ivan ivana iwona jaap jackie
jacob jacqueline jacques
jaime jakub james jamie jana jane janet janice janina janusz jason jasmin jasmine javier jayne jean jeanette jeanne jeff
jeffrey jelena jelle
jennifer jenny jens jeremy jerome jeroen jerzy jesper jessica jesus jill jim jimmy joan joana joanna joanne joao jochen
jodie joe joel joelle
johan johann johanna johannes john johnny jolanta jonas jonathan joost jordan jorg jorge joris jose josef joseph
josephine joshua josie
joyce juan juana juanita judith judy julia julian juliane julie julien juliette jurgen justin justyna kamal kamil karen
karin karl karol
karolina kasper katarina katarzyna kate katherine kathleen kathryn kathy katie katja katrin kayla keiko keith kelly
kenneth kenny kenji
kerry kerstin kevin khadija khalid kieran kim kirsten klaas klara klaus koen konrad krystyna krzysztof kumar kurt kyle
lakshmi larry lars
latoya laura lauren laurence laurent lawrence lea leah lee leila lena lennart leon leonard leonardo leonie leroy leslie
lewis liam lidia lieke
liesbeth linda lindsay lisa lise lloyd lorenz lorenzo lorna lorraine lotte louis louisa louise luc luca lucas lucia
lucie lucy ludwig
luis luisa lukas lukasz lutz lydia lynn lynne maarten maciej madeleine magda magdalena magnus mahmoud maja malcolm
malgorzata malik
manfred manon manuel manuela marc marcel marcela marcin marco marcus marek margaret margot maria mariam marian marianne
marie marieke mariella
marijke marina mario marion marius marjan marjolein markus marlene marta martha martin martina martine marvin mary
maryam masako mateusz
mathias mathieu mathilde matt matteo matthew matthias matthieu maureen maurice mauro maxime maximilian megan mehmet mei
melanie melissa
mercedes meike michael michal michaela michel michele michelle miguel mihai mike mikael mikhail milan milena millie mina
ming mireille miriam
mirjam mohamed mohammad mohammed moira molly monica monika monique morgan moritz muhammad murat murray mustafa nadia
nadine nancy naomi
narendra natalia natalie natasha nathalie nathan neil nell nelly ngozi nguyen nicholas nick nicky nicola nicolas nicole
niels nigel nikolai nikolaus
nils nina noah noel nora norbert norma norman nuria odile oksana olaf ole olena olga oliver olivia olivier omar oscar
oskar osman otto owen
pablo pamela paola paolo pascal patricia patricio patrick patrik paul paula paulina pauline pavel pawel pedro peggy
pekka per perry peter petra
philip philipp philippe phil phillip phoebe phyllis pierre pieter pilar piotr priya rachel radek rafael rahul rainer raj
rajesh ralf ralph
ramon randy raphael raquel rashid raymond rebecca regina reinhard remy renata renate rene rhiannon rhys ricardo riccardo
richard rick rita
robert roberta roberto rocio roderick rodrigo roger roland rolf roman romain ron ronald rory rosa rosalind rosemary
rosie ross roxanne roy ruben rudi
rudolf rupert russell ruth ryan sabine sabrina said salim sally salma sam samantha samira samuel sandra sandrine sanjay
sara sarah sean sebastian
sebastien selina serena serge sergei sergio seth shane shannon sharon shaun sheila shelley shirley siegfried sigrid
silke silvia simon simone
sinead siobhan sofia sofie sonia sonja sophia sophie stacey stanislaw stefan stefania stefanie steffen stella stephan
stephane stephanie stephen steve
steven stewart stuart sunil susan susana susanna susanne suzanne svetlana sven sybille sylvia sylvie tadeusz takeshi
tamara tammy tania tanja
tanya tara tariq tatiana tessa teresa terry thea theo theresa therese thierry thijs thomas tiffany tim timo timothy tina
tobias tom tomas tomasz
tommy toni tony tracey tracy trevor tristan trudy tyler ulrich ulrike umar ursula ute uwe valentina valerie vanessa vera
verena veronica
veronique vicky vicente victoria viktor vijay vincent vincenzo virginia virginie vladimir volker waltraud walter wanda
wayne wendy werner wilfried
wilhelm willem william willy wim winston wojciech wolfgang xavier yasmin yasmine yolanda yosef youssef yusuf yuki yves
yvonne yvette zachary zahra zainab
zbigniew zoe zofia zuzanna
"""

# Also ordinary words: they count only as part of a name of two words.
_ALSO_WORDS = """
art april august bill carol chuck clay cliff dale dawn dean drew faith frank gene glen glenn grace grant guy hank harry hazel heather hope
iris ivy jack jan jo joy june lance lily lou mark marks max may miles nick norm olive pat pearl peg penny pete rand ray rich rob robin rod
ans anders bas ben blanche elke jury lies li manuel mes per sander solange val
rose ruby rusty sandy sid stan sue tab ted tilly van vic victor violet wade ward will wolf
"""
ALSO_WORDS = frozenset(_ALSO_WORDS.split())
GIVEN_NAMES = frozenset(_GIVEN_NAMES.split()) - ALSO_WORDS
