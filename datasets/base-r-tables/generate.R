# Writes data/*.csv and expected.json beside this file. Run here: Rscript generate.R
# Each case is a spec as the command takes it, and what R says of the same model.
suppressPackageStartupMessages({ library(MASS); library(lme4); library(pbkrtest); library(nlme) })
options(contrasts = c("contr.sum", "contr.poly"), digits = 15)
if (!dir.exists("data")) dir.create("data")

quoted <- function(x) paste0("\"", gsub("\"", "\\\\\"", x), "\"")
json <- function(x) {
  if (is.null(x)) return("null")
  if (length(x) == 0) return(if (is.list(x)) "{}" else "[]")
  if (is.list(x) || length(x) > 1) {
    parts <- vapply(x, json, "")
    if (!is.null(names(x))) return(paste0("{", paste0(quoted(names(x)), ":", parts, collapse = ","), "}"))
    return(paste0("[", paste0(parts, collapse = ","), "]"))
  }
  if (is.character(x)) return(quoted(x))
  if (is.logical(x)) return(tolower(as.character(x)))
  if (!is.finite(x)) return("null")
  format(x, digits = 15, trim = TRUE)
}
empty <- structure(list(), names = character(0))
numeric_factor <- function(name, data) list(name = name, low = min(data[[name]]), high = max(data[[name]]), changes = "easy")
named_factor <- function(name, data, changes = "easy") list(name = name, levels = as.list(levels(data[[name]])), changes = changes)

# Powers of an R coefficient: "a:I(b^2)", and "f1" for the first level of factor f.
powers <- function(label, data) {
  if (label == "(Intercept)") return(empty)
  out <- empty
  for (part in strsplit(label, ":")[[1]]) {
    square <- regmatches(part, regexec("^I\\((.+)\\^(\\d)\\)$", part))[[1]]
    factor <- Find(function(n) is.factor(data[[n]]) && startsWith(part, n), names(data)[order(-nchar(names(data)))])
    if (length(square)) out[[square[2]]] <- as.integer(square[3])
    else if (!is.null(factor)) out[[factor]] <- levels(data[[factor]])[as.integer(substring(part, nchar(factor) + 1))]
    else out[[part]] <- 1L
  }
  out
}
terms_of <- function(table, data, df = NULL) unname(lapply(rownames(table), function(label) {
  row <- unname(table[label, ])
  c(list(powers = powers(label, data), estimate = row[1], standardError = row[2]),
    if (length(row) > 3) list(statistic = row[3], p = row[4]), if (!is.null(df)) list(df = df[[label]]))
}))

cases <- list()
add <- function(id, title, data, spec, expected, model) {
  utils::write.csv(data, file.path("data", paste0(id, ".csv")), row.names = FALSE, quote = FALSE)
  cases[[id]] <<- list(id = id, title = title, model = model, spec = spec, expected = expected)
}
response <- function(name, kind = "continuous", ...) list(c(list(name = name, kind = kind), list(...)))

linear <- function(id, title, formula, data, spec, weights = NULL) {
  data$.w <- if (is.null(weights)) rep(1, nrow(data)) else weights
  fit <- lm(formula, data = data, weights = .w)
  s <- summary(fit); h <- hatvalues(fit); y <- model.response(model.frame(fit))
  press <- sum(data$.w * (residuals(fit) / (1 - h))^2)
  origin <- attr(terms(fit), "intercept") == 0
  total <- sum(data$.w * (y - if (origin) 0 else weighted.mean(y, data$.w))^2)
  expected <- list(naturalTerms = terms_of(s$coefficients, data), residualSd = s$sigma, rSquared = s$r.squared,
    adjustedRSquared = s$adj.r.squared, press = press, predictiveRSquared = 1 - press / total, modelF = unname(s$fstatistic[1]))
  drops <- drop1(fit, test = "F")[-1, ]
  expected$partial <- lapply(setNames(seq_len(nrow(drops)), rownames(drops)), function(i) list(ss = drops[i, "Sum of Sq"], f = drops[i, "F value"], p = drops[i, "Pr(>F)"]))
  data$.w <- NULL
  add(id, title, data, spec, expected, paste(deparse(formula), collapse = " "))
}
main <- function(names, data) lapply(names, function(n) if (is.factor(data[[n]])) named_factor(n, data) else numeric_factor(n, data))

# Least squares.
linear("stackloss", "Brownlee's stack loss", stack.loss ~ Air.Flow + Water.Temp + Acid.Conc., stackloss,
  list(factors = main(names(stackloss)[1:3], stackloss), responses = response("stack.loss"), model = "main"))
linear("swiss", "Swiss fertility, 1888", Fertility ~ Agriculture + Examination + Education + Catholic + Infant.Mortality, swiss,
  list(factors = main(names(swiss)[-1], swiss), responses = response("Fertility"), model = "main"))
linear("cars-origin", "Stopping distances through the origin", dist ~ 0 + speed + I(speed^2), cars,
  list(factors = main("speed", cars), responses = response("dist"), model = list(terms = list(list(speed = 1L), list(speed = 2L)))))
tooth <- ToothGrowth
linear("tooth-growth", "Tooth growth, dose and supplement", len ~ dose + supp + dose:supp + I(dose^2), tooth,
  list(factors = main(c("dose", "supp"), tooth), responses = response("len"), model = "quadratic"))
linear("hills-weighted", "Hill races, weights 1/dist^2", time ~ dist + climb, transform(hills, w = 1 / dist^2),
  list(factors = main(c("dist", "climb"), hills), responses = response("time", weight = "w"), model = "main"), 1 / hills$dist^2)
races <- transform(hills, w = dist)
spread <- lm(log(time) ~ dist + climb, races, weights = w)
add("hills-spread", "Hill races as a weighted spread: the logarithm is modelled", races,
  list(factors = main(c("dist", "climb"), races), responses = response("time", "spread", weight = "w"), model = "main"),
  list(naturalTerms = terms_of(summary(spread)$coefficients, races), residualSd = summary(spread)$sigma), "log(time) ~ dist + climb, weights = dist")
power <- optimize(function(l) { gm <- exp(mean(log(trees$Volume))); z <- (trees$Volume^l - 1) / (l * gm^(l - 1)); deviance(lm(z ~ trees$Girth + trees$Height)) }, c(-1, 1.5), tol = 1e-10)
linear("trees", "Black cherry trees", Volume ~ Girth + Height, trees, list(factors = main(c("Girth", "Height"), trees), responses = response("Volume"), model = "main"))
cases$trees$expected$power <- power$minimum

# Blocks: a factorial confounded with them, as shifts and as drawn from a population.
npk1 <- lm(yield ~ block + N + P + K + N:P + N:K + P:K, npk)
s <- summary(npk1)$coefficients; inside <- !startsWith(rownames(s), "block")
add("npk-fixed", "Peas in blocks; N x P x K is confounded with them", npk,
  list(factors = main(c("N", "P", "K"), npk), responses = response("yield"), block = "block", blocks = "fixed",
    model = list(terms = list(empty, list(N = "0"), list(P = "0"), list(K = "0"), list(N = "0", P = "0"), list(N = "0", K = "0"), list(P = "0", K = "0"), list(N = "0", P = "0", K = "0")))),
  list(terms = terms_of(s[inside, ], npk), residualSd = summary(npk1)$sigma, cannotSay = "aliased"), "yield ~ block + (N + P + K)^2, N:P:K aliased")

kenward <- function(fit, data) {
  covariance <- vcovAdj(fit); beta <- fixef(fit)
  unname(lapply(seq_along(beta), function(j) {
    l <- replace(numeric(length(beta)), j, 1)
    df <- Lb_ddf(l, vcov(fit), covariance); se <- sqrt(as.matrix(covariance)[j, j]); t <- unname(beta[j]) / se
    list(powers = powers(names(beta)[j], data), estimate = unname(beta[j]), standardError = se, df = df, p = 2 * pt(-abs(t), df))
  }))
}
variances <- function(fit) setNames(as.list(as.data.frame(VarCorr(fit))$vcov), as.data.frame(VarCorr(fit))$grp)
tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-10, maxfun = 1e5))
mixed <- function(id, title, formula, data, spec) {
  fit <- lmer(formula, data, control = tight)
  add(id, title, data, spec, list(terms = kenward(fit, data), variances = variances(fit)), paste(deparse(formula), collapse = " "))
}
mixed("npk-random", "Peas, blocks drawn from a population", yield ~ N * P + N:K + P:K + K + (1 | block), npk,
  list(factors = main(c("N", "P", "K"), npk), responses = response("yield"), block = "block", blocks = "random", model = "interactions"))
alfalfa <- as.data.frame(Alfalfa); class(alfalfa) <- "data.frame"
alfalfa$Block <- factor(as.character(alfalfa$Block)); alfalfa$Date <- factor(as.character(alfalfa$Date), c("None", "S1", "S20", "O7"))
alfalfa$Variety <- factor(as.character(alfalfa$Variety))
levels(alfalfa$Date)[1] <- "uncut"
plots <- list(factors = list(named_factor("Variety", alfalfa, "hard"), named_factor("Date", alfalfa)), responses = response("Yield"),
  model = "interactions", wholePlot = "Variety", block = "Block")
mixed("alfalfa", "Alfalfa in split plots (Snedecor & Cochran 1980, by way of nlme)", Yield ~ Variety * Date + (1 | Block) + (1 | Block:Variety), alfalfa, plots)
mixed("alfalfa-unbalanced", "The same with seven plots lost", Yield ~ Variety + Date + (1 | Block) + (1 | Block:Variety), alfalfa[-c(3, 11, 12, 29, 40, 58, 71), ],
  replace(plots, "model", "main"))

# Counts, passing and failing.
glm_case <- function(id, title, fit, data, spec, where = "terms", model) {
  s <- summary(fit)
  expected <- list(deviance = deviance(fit), nullDeviance = fit$null.deviance, dfResidual = df.residual(fit), pearson = sum(residuals(fit, "pearson")^2))
  expected[[where]] <- terms_of(s$coefficients, data)
  if (!is.null(fit$theta)) { expected$theta <- fit$theta; expected$thetaError <- fit$SE.theta }
  if (is.finite(AIC(fit))) expected$logLikelihood <- as.numeric(logLik(fit))
  add(id, title, data, spec, expected, model)
}
exact <- glm.control(epsilon = 1e-14, maxit = 100)
sprays <- function(family) list(factors = main("spray", InsectSprays), responses = response("count", "count", family = family), model = "main")
glm_case("insect-sprays", "Insects under six sprays, Poisson", glm(count ~ spray, poisson, InsectSprays, control = exact), InsectSprays, sprays("poisson"), model = "count ~ spray")
glm_case("insect-sprays-quasi", "Insects under six sprays, quasi-Poisson", glm(count ~ spray, quasipoisson, InsectSprays, control = exact), InsectSprays, sprays("quasi-poisson"), model = "count ~ spray")
insurance <- as.data.frame(Insurance)
for (n in c("Group", "Age")) insurance[[n]] <- factor(insurance[[n]], levels(insurance[[n]]), ordered = FALSE)
glm_case("insurance", "Claims of car insurance, exposure in holders", glm(Claims ~ District + Group + Age + offset(log(Holders)), poisson, insurance, control = exact), insurance,
  list(factors = main(c("District", "Group", "Age"), insurance), responses = response("Claims", "count", exposure = "Holders", family = "poisson"), model = "main"), model = "Claims ~ District + Group + Age + offset(log(Holders))")
negative <- glm.nb(Days ~ Sex + Age + Eth + Lrn, quine, control = glm.control(epsilon = 1e-14, maxit = 200))
glm_case("quine", "Days absent from school, negative binomial", negative, quine,
  list(factors = main(c("Sex", "Age", "Eth", "Lrn"), quine), responses = response("Days", "count", family = "negative-binomial"), model = "main"), model = "Days ~ Sex + Age + Eth + Lrn")
births <- infert[, c("spontaneous", "induced", "case")]
glm_case("infert", "Infertility: passing or failing by plain likelihood", glm(case ~ spontaneous + induced + spontaneous:induced, binomial, births, control = exact), births,
  list(factors = main(c("spontaneous", "induced"), births), responses = response("case", "pass-fail"), model = "interactions"), "likelihoodNaturalTerms", "case ~ spontaneous * induced")

writeLines(paste0("{\"tool\":", json(R.version.string), ",\"packages\":", json(setNames(lapply(c("MASS", "lme4", "pbkrtest", "nlme"), function(p) as.character(packageVersion(p))), c("MASS", "lme4", "pbkrtest", "nlme"))),
  ",\"date\":\"2026-11-28\",\"expected\":[\n", paste(vapply(unname(cases), json, ""), collapse = ",\n"), "\n]}"), "expected.json")
